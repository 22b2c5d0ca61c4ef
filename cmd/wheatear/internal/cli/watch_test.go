package cli

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// put puts a part into the jig.
func (b *desk) put(name string) {
	b.t.Helper()
	if err := b.card.Insert(name); err != nil {
		b.t.Fatal(err)
	}
}

// watchFast watches with a clock that jumps; between two readings the test may do something.
func (b *desk) watchFast(line string, between func(n int, cancel func())) (status int, stdout, stderr string) {
	b.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var out, talk bytes.Buffer
	a := newApp(ctx, strings.NewReader(""), &out, &talk)
	a.openCard = func(_ context.Context, o live.Options) (*live.Session, error) { return live.New(b.live, o), nil }
	now, n := time.Date(2026, 3, 31, 8, 0, 0, 0, time.UTC), 0
	a.now = func() time.Time { return now }
	a.wait = func(ctx context.Context, d time.Duration) error {
		if n > 0 {
			between(n, cancel)
		}
		n++
		now = now.Add(d + 2*time.Second) // a reading takes its time
		return ctx.Err()
	}
	status = a.run(strings.Fields(line))
	for _, text := range strings.Split(out.String()+talk.String(), "\n") {
		if n := len([]rune(text)); n > 80 && !strings.HasPrefix(text, "{") {
			b.t.Errorf("%s: %d columns: %s", line, n, text)
		}
	}
	return status, out.String(), talk.String()
}

// Each reading is in the notebook and in the file before the next is waited for, so that
// whatever ends the program then loses none that was shown.
func TestWatchLosesNothing(t *testing.T) {
	b := newDesk(t)
	b.put("c100n")
	t.Setenv("WHEATEAR_NOTEBOOK", "watch.db")
	status, out, talk := b.watchFast("measure --jig real.toml --at 1k --watch --every 10min --part warm --csv warm.csv --plot warm.svg", func(n int, cancel func()) {
		book, err := notebook.Open(context.Background(), "watch.db")
		if err != nil {
			t.Fatal(err)
		}
		defer book.Close()
		if entries, err := book.Count(context.Background(), notebook.Filter{}); err != nil || entries != n {
			t.Errorf("after %d readings: %d entries, %v", n, entries, err)
		}
		text, err := os.ReadFile("warm.csv")
		if err != nil {
			t.Fatal(err)
		}
		if err := clitest.CSVTable(text); err != nil || bytes.Count(text, []byte("\n")) != n+1 {
			t.Errorf("after %d readings: %v: %s", n, err, text)
		}
		if n == 6 {
			cancel()
		}
	})
	if status != 0 || strings.Count(out, "  1 kHz  ") != 6 {
		t.Errorf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, out, "08:00:02 1 kHz", "08:50", "ppm/h", "warm at 1 kHz, 6 readings in 50 min", "drift", "No drift seen")
	if _, err := os.Stat("warm.svg"); err != nil {
		t.Error(err)
	}
}

// Somebody turns a volume between two readings: the contact was never opened, and it is
// told when that was. The last line for programs has it, too.
func TestWatchNamesAStep(t *testing.T) {
	b := newDesk(t)
	b.put("c100n")
	quieter := &turnedDown{Card: b.live}
	b.live = quieter
	turn := func(n int, _ func()) {
		if n == 3 {
			quieter.by = 0.9
		}
	}
	status, out, talk := b.watchFast("measure --jig real.toml --at 1k --watch --every 1min --within 5min --no-notebook", turn)
	inOrder(t, out, "Changes between readings", "08:03:02", "level of input 2", "cannot be compared")
	if status != 0 || strings.Count(out, "  1 kHz  ") != 5 {
		t.Errorf("status %d: %s\n%s", status, out, talk)
	}
	quieter.by = 0
	_, out, _ = b.watchFast("measure --jig real.toml --at 1k --watch --every 1min --within 5min --no-notebook --json", turn)
	lines := strings.Split(strings.TrimSpace(out), "\n")
	for _, line := range lines {
		if err := clitest.ConformsText([]byte(line)); err != nil {
			t.Error(err)
		}
	}
	if last := lines[len(lines)-1]; len(lines) != 6 || !strings.Contains(last, `"wheatear.watch/1"`) || !strings.Contains(last, `"jig-changed"`) {
		t.Errorf("%d lines: %s", len(lines), lines[len(lines)-1])
	}
}

// turnedDown is a card whose second input becomes quieter.
type turnedDown struct {
	audio.Card
	by float64 // 0 for not at all
}

func (c *turnedDown) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	rec, err := c.Card.Run(ctx, cfg, stimulus)
	if err == nil && c.by != 0 {
		for i := range rec.Channels[1] {
			rec.Channels[1][i] *= c.by
		}
	}
	return rec, err
}

func TestStretch(t *testing.T) {
	for text, want := range map[string]float64{"10": 10, "10s": 10, "5min": 300, "5m": 300, "2h": 7200, "1.5h": 5400, "1d": 86400, "500ms": 0.5} {
		var s stretch
		if err := s.Set(text); err != nil || s.seconds != want {
			t.Errorf("%q: %g, %v", text, s.seconds, err)
		}
	}
	for _, text := range []string{"", "0", "-1s", "10x", "h", "NaN", "Inf", "1e9d"} {
		if err := new(stretch).Set(text); err == nil {
			t.Errorf("%q is taken", text)
		}
	}
}
