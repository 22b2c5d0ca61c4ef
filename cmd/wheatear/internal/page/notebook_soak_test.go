package page

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// fill makes a notebook of so many readings of a thousand parts, a minute apart; every
// thousandth has a note.
func fill(t *testing.T, file string, measure []byte, entries int) {
	t.Helper()
	n, err := notebook.Open(context.Background(), file)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	var results [][]byte
	for i := range 97 {
		results = append(results, withCapacitance(t, measure, 1e-7*(1+1e-4*float64(i))))
	}
	documents := []notebook.Document{notebook.NewDocument(notebook.JigFile, "jig.toml", "name = \"jig\"\n")}
	began, first := time.Now(), time.Now().Add(-time.Duration(entries)*time.Minute)
	for from := 0; from < entries; from += 1000 {
		var list []*notebook.Entry
		for i := from; i < min(entries, from+1000); i++ {
			e := &notebook.Entry{
				Time: first.Add(time.Duration(i) * time.Minute), Label: fmt.Sprintf("board%03d-C%d", i%250, i/250%4), Command: fmt.Sprint("wheatear measure #", i),
				Documents: documents, Files: []string{"part.wav"}, Result: results[i%len(results)],
			}
			if i%1000 == 7 {
				e.Note = "after the heat test"
			}
			list = append(list, e)
		}
		if _, err := n.AddAll(context.Background(), list); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d entries in %v", entries, time.Since(began).Round(time.Millisecond))
}

// questions that a person asks of a notebook.
var questions = []struct{ name, path string }{
	{"list", "?limit=50"}, {"list, far back", "?limit=50&skip=%d"}, {"last week", "?since=7d"}, {"kind", "?kind=reading"}, {"label", "?label=board007-C1"}, {"labels", "?label=board00*"},
	{"common word", "?text=hum"}, {"rare word", "?text=heat"}, {"beginning of a word", "?text=boa"}, {"two words", "?text=heat+board007"}, {"common word and kind", "?text=hum&kind=reading"},
	{"entry", "/2"}, {"history", "/history?label=board007-C1"}, {"history of a week", "/history?label=board007-C1&since=7d"},
}

// timed asks over a connection that stays, as browsers do.
func (s *served) timed(path string) time.Duration {
	s.t.Helper()
	began := time.Now()
	resp, err := http.Get(s.url + "/api/notebook" + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	_, err = io.Copy(io.Discard, resp.Body)
	took := time.Since(began)
	if err != nil || resp.StatusCode != http.StatusOK {
		s.t.Fatalf("%s: %d, %v", path, resp.StatusCode, err)
	}
	return took
}

// pace is how many live readings come a second while something is done.
func (s *served) pace(do func()) float64 {
	began, before := time.Now(), s.counts.updates.Load()
	do()
	return float64(s.counts.updates.Load()-before) / time.Since(began).Seconds()
}

// looked looks through a notebook of so many entries while the live reading goes on, each
// question so many times, and returns the median of each and the pace before and while.
func looked(t *testing.T, entries, times int, still time.Duration) (medians []time.Duration, before, while float64) {
	t.Helper()
	s, file := noted(t)
	measure, _ := sample(t)
	fill(t, file, measure, entries)
	var list NotebookList
	if s.asks("", &list); list.Total != entries {
		t.Fatalf("%d entries, want %d", list.Total, entries)
	}
	s.ok("live", `{"at": "~1k"}`)
	s.until("it reads", func(*State) bool { return s.counts.updates.Load() > 2 })
	before = s.pace(func() { time.Sleep(still) })
	while = s.pace(func() {
		for _, q := range questions {
			if q.name == "list, far back" {
				q.path = fmt.Sprintf(q.path, entries/2)
			}
			var took []time.Duration
			for range times {
				took = append(took, s.timed(q.path))
			}
			slices.Sort(took)
			medians = append(medians, took[len(took)/2])
			t.Logf("%-22s median %6.1f ms, longest %6.1f ms", q.name, 1e3*took[len(took)/2].Seconds(), 1e3*took[len(took)-1].Seconds())
		}
	})
	t.Logf("live readings a second: %.1f before, %.1f while it is looked through", before, while)
	return medians, before, while
}

// Every question is answered while the card is in use.
func TestNotebookBesideLive(t *testing.T) {
	t.Parallel()
	looked(t, 300, 2, 0)
}

// A disk that does not answer holds up neither the live reading nor the pages, and
// whoever asks is told in time; when it answers again, so does the notebook.
func TestNotebookDoesNotAnswer(t *testing.T) {
	t.Parallel()
	s, file := noted(t)
	s.book.patience = 200 * time.Millisecond
	measure, _ := sample(t)
	repeated(t, file, measure, "C7", []float64{1e-7}, time.Second)
	s.ok("live", `{"at": "~1k"}`)
	answer, held := make(chan struct{}), make(chan error, mostLooking)
	for range mostLooking {
		go func() {
			_, err := lookUp(context.Background(), s.book, func(context.Context, *notebook.Notebook) (int, error) {
				<-answer
				return 0, nil
			})
			held <- err
		}()
	}
	for range mostLooking {
		if status, p := problemOf(<-held); status != http.StatusServiceUnavailable || !strings.Contains(p.Error, file) || !strings.Contains(p.Error, "did not answer") {
			t.Errorf("%d %q", status, p.Error)
		}
	}
	if why := s.refuses("", http.StatusServiceUnavailable); !strings.Contains(why, "did not answer") {
		t.Errorf("while all wait: %q", why)
	}
	n := s.counts.updates.Load()
	s.until("it reads on", func(*State) bool { return s.counts.updates.Load() > n+1 })
	close(answer)
	var list NotebookList
	for began := time.Now(); time.Since(began) < patience && list.Total == 0; {
		if status, text := s.call("GET", "/api/notebook", ""); status == http.StatusOK {
			decodeInto(t, text, &list)
		}
	}
	if list.Total != 1 {
		t.Errorf("%d entries when it answers again", list.Total)
	}
}

// A hundred thousand entries: whatever is asked is answered within a tenth of a second,
// and the live reading does not wait for it.
func TestSoakNotebookLarge(t *testing.T) {
	if !*soak {
		t.Skip("takes two minutes: -soak")
	}
	medians, before, while := looked(t, 100_000, 60, 10*time.Second)
	for i, took := range medians {
		if took > 100*time.Millisecond {
			t.Errorf("%s took %v, want less than 100 ms", questions[i].name, took)
		}
	}
	if while < 0.8*before {
		t.Errorf("%.1f live readings a second, %.1f before", while, before)
	}
}
