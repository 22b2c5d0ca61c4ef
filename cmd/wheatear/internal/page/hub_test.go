package page

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
)

// One who does not keep up is told the latest, never a queue; what is told meanwhile
// under other names is not lost.
func TestSlowListenerGetsTheLatest(t *testing.T) {
	h := newHub()
	l, err := h.listen()
	if err != nil {
		t.Fatal(err)
	}
	defer h.leave(l)
	for n := range 1000 {
		h.send("live", n)
		if n == 10 {
			h.send("state", "busy")
		}
	}
	got := l.take()
	if len(got) != 2 || got[0].name != "live" || string(got[0].text) != "999" || string(got[1].text) != `"busy"` {
		t.Errorf("waiting: %s", got)
	}
	if lost := h.lost.Load(); lost != 999 {
		t.Errorf("%d are counted as skipped, want 999", lost)
	}
	if more := l.take(); len(more) != 0 {
		t.Errorf("taken twice: %s", more)
	}
}

// No more than so many may listen, and whoever leaves makes room.
func TestListenersAreLimited(t *testing.T) {
	h := newHub()
	var last *listener
	for range mostListeners {
		l, err := h.listen()
		if err != nil {
			t.Fatal(err)
		}
		last = l
	}
	if _, err := h.listen(); !errors.Is(err, ErrListeners) {
		t.Errorf("one too many: %v", err)
	}
	h.leave(last)
	if _, err := h.listen(); err != nil {
		t.Errorf("after one has left: %v", err)
	}
}

// A client that reads nothing for a while, and then goes on, sees the present: the
// number of its next reading is near the last one made, not the next in a queue.
func TestSlowClientSeesThePresent(t *testing.T) {
	t.Parallel()
	notShort(t)
	s := ready(t, Options{})
	s.ok("live", `{"at": "1k"}`)
	resp, err := still.Get(s.url + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	lines := bufio.NewReader(resp.Body)
	next := func() (n int64) {
		t.Helper()
		for name := ""; ; {
			line, err := lines.ReadString('\n')
			if err != nil {
				t.Fatal(err)
			}
			if what, ok := strings.CutPrefix(line, "event: "); ok {
				name = strings.TrimSpace(what)
			}
			if data, ok := strings.CutPrefix(line, "data: "); ok && name == "live" {
				var u struct{ N int64 }
				if err := json.Unmarshal([]byte(data), &u); err != nil {
					t.Fatal(err)
				}
				return u.N
			}
		}
	}
	first := next()
	time.Sleep(500 * time.Millisecond) // asleep; the sockets between hold some
	s.until("others have been made", func(*State) bool { return s.counts.updates.Load() > first+5 })
	for last := first; ; {
		n := next()
		if n <= last {
			t.Fatalf("reading %d after %d", n, last)
		}
		if last = n; n >= s.counts.updates.Load()-1 {
			break // it has caught up
		}
	}
}

// errTaken is the error of a card that somebody else has.
var errTaken = errors.New("portaudio: device unavailable: another program has the card; close it")

// What keeps a real card from being opened is told on the page, and the card is free
// again.
func TestCardThatCannotBeOpened(t *testing.T) {
	s := ready(t, Options{OpenCard: func(context.Context, live.Options) (*live.Session, error) { return nil, errTaken }})
	s.mu.Lock()
	s.desk.card = nil // as of a real jig
	s.mu.Unlock()
	for _, c := range []struct{ path, body string }{
		{"live", `{"at": "1k"}`}, {"sweep", `{"at": "1k,2k"}`}, {"calibration", `{"at": "1k"}`},
	} {
		s.ok(c.path, c.body)
		s.until(c.path+" has ended", func(st *State) bool { return st.Owner == nil && st.Notice != nil })
		if n := s.State().Notice; !n.Bad || !strings.Contains(n.Text, "another program has the card") {
			t.Errorf("%s: the page says %+v", c.path, n)
		}
	}
	if failed := s.counts.failed.Load(); failed != 3 {
		t.Errorf("%d failures are counted", failed)
	}
	if status, _ := s.call("GET", "/api/state", ""); status != http.StatusOK {
		t.Errorf("state: %d", status)
	}
}
