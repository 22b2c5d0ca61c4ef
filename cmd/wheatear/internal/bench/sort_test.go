package bench

import (
	"net/http"
	"strings"
	"testing"

	"example.org/wheatear/lockin/parts"
)

// Parts of the tray are sorted one after the other: each is counted once, with the
// verdict of its reading, and the lot outlives the program.
func TestSort(t *testing.T) {
	t.Parallel()
	notShort(t)
	folder := t.TempDir()
	s := ready(t, Options{Folder: folder})
	s.calibrateBySelf("~1k")
	s.ok("tray/part", `{"name": "load"}`)
	s.ok("sort", `{"expect": "1k/1%", "at": "~1k"}`)
	for i, name := range []string{"load", "pull-up"} {
		s.ok("tray/part", `{"name": "`+name+`"}`)
		s.until("it is counted", func(*State) bool { return len(s.Sorted().Parts) == i+1 })
	}
	s.ok("sort/count", `{}`)
	s.until("it is counted once more, as a person wants it", func(*State) bool { return len(s.Sorted().Parts) == 3 })
	var outcomes []string
	for _, p := range s.Sorted().Parts {
		outcomes = append(outcomes, string(p.Verdict.Outcome))
	}
	if got := strings.Join(outcomes, " "); got != "pass fail fail" {
		t.Errorf("got %s", got)
	}
	s.stop()
	s = serve(t, Options{Folder: folder})
	if v := s.State().Sorting; v == nil || v.Pass != 1 || v.Fail != 2 {
		t.Errorf("after a new start: %+v", v)
	}
	s.refused("sort", `{"expect": "1k", "at": "~1k"}`, http.StatusBadRequest)
	s.refused("sort", `{"expect": "1x", "at": "~1k"}`, http.StatusBadRequest)
	s.ok("sort/clear", `{}`)
	if s.Sorted() != nil {
		t.Error("the lot was not forgotten")
	}
}

// A part that is moved, left in, or taken out is counted as a person would count.
func TestSorterCountsEachPartOnce(t *testing.T) {
	for _, c := range []struct {
		name  string
		seen  []float64 // |Z| in ohm; 0 for open terminals
		count int
	}{
		{"one that stands", []float64{1000, 1000, 1000, 1000, 1000, 1000, 1000, 1000}, 1},
		{"too short", []float64{1000, 1000, 1000}, 0},
		{"never still", []float64{1000, 1010, 1000, 1010, 1000, 1010, 1000, 1010}, 0},
		{"two, with open terminals between", []float64{1000, 1000, 1000, 1000, 1000, 0, 1000, 1000, 1000, 1000, 1000}, 2},
		{"two unlike, without", []float64{1000, 1000, 1000, 1000, 1000, 2000, 2000, 2000, 2000, 2000}, 2},
		{"warming up", []float64{1000, 1000.5, 1001, 1001.5, 1002, 1002.5, 1003, 1003.5}, 1},
	} {
		s := &sorter{}
		got := 0
		for _, z := range c.seen {
			if z == 0 {
				s.removed()
				continue
			}
			s.follow(z)
			s.last = &SortedPart{Verdict: Verdict{Outcome: parts.Pass}}
			if s.stood >= standing && !s.counted {
				s.counted = true
				got++
			}
		}
		if got != c.count {
			t.Errorf("%s: counted %d, want %d", c.name, got, c.count)
		}
	}
}
