package batch

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// glimpses reads a sequence: numbers are ohms at rest, o is open, b is spoilt.
func glimpses(t *testing.T, text string) (out []Glimpse) {
	t.Helper()
	for _, word := range strings.Fields(text) {
		switch word {
		case "o":
			out = append(out, open)
		case "b":
			out = append(out, bad)
		default:
			var ohm float64
			if _, err := fmt.Sscan(word, &ohm); err != nil {
				t.Fatal(err)
			}
			out = append(out, at(ohm))
		}
	}
	return out
}

// Parts are counted as a person would count them, whatever hands and contacts do; what
// cannot be told is asked.
func TestSuccessionCountsEachPartOnce(t *testing.T) {
	for _, c := range []struct {
		name  string
		seen  string // each part is 1000 ohm or so, noise 1e-4 of it
		count int
		asks  string // doubts and strange readings, in order
	}{
		{"one that stays", "o 1000 1000 1000 1000 1000 1000", 1, ""},
		{"nothing at all", "o o o o o o", 0, ""},
		{"a moment only", "o 1000 o o 1000 o", 0, ""},
		{"never still", "1000 1010 1000 1010 1000 1010", 0, ""},
		{"contact bounces on the way in", "o 4000 o 1400 b 1030 o 1000 1000 1000", 1, ""},
		{"warm from the hand", "1000 1001.5 1003 1004.5 1006 1008 1010 1012 1014 1016 1018", 1, ""},
		{"warm, and far by the end", "1000 1000 1010 1020 1030 1040 1050 1060 1070 1080 1090", 1, ""},
		{"two, with the jig empty between", "1000 1000 o o o o 1003 1003 1003", 2, ""},
		{"two of the same value", "1000 1000 1000 o o o o 1000 1000 1000", 2, ""},
		{"two unlike, exchanged quickly", "1000 1000 1000 o o 1003 1003", 2, ""},
		{"contact fails once", "1000 1000 o 1000 1000 o 1000", 1, ""},
		{"contact fails, and reads spoilt", "1000 1000 b b o b 1000 1000", 1, ""},
		{"contact fails for longer", "1000 1000 o o 1000 1000 1000", 1, "d"},
		{"fails for longer, twice", "1000 1000 o o o 1000 1000 1000 o o 1000 1000", 1, "dd"},
		{"doubted, then another part", "1000 1000 o o 1000 1000 o o o o 1000 1000", 2, "d"},
		{"exchanged unseen", "1000 1000 2000 2000 2000 2000 2000 2000 2000 2000 2000", 1, "s"},
		{"exchanged unseen, then taken out", "1000 1000 2000 2000 2000 2000 2000 2000 2000 o o o o 2000 2000", 2, "s"},
		{"a bad contact that comes and goes", "1000 1000 1100 1000 1100 1000 1100 1000 1000", 1, ""},
		{"shorts", "0 0 0 o o o o 0 0", 2, ""},
		{"lifted and set down by another", "1000 1000 o o 1000.05 1000.05", 1, "d"},
	} {
		var s Succession
		count, asks := 0, ""
		for _, g := range glimpses(t, c.seen) {
			switch s.Step(g) {
			case Settled:
				count++
				s.Keep()
			case Doubtful:
				asks += "d"
			case Strange:
				asks += "s"
			}
		}
		if count != c.count || asks != c.asks {
			t.Errorf("%s: counted %d and asked %q, want %d and %q", c.name, count, asks, c.count, c.asks)
		}
	}
}

// What was exchanged for certain is not doubted, nor waited for until the jig is empty.
func TestSuccessionExchanged(t *testing.T) {
	var s Succession
	for range 3 {
		if e := s.Step(at(1000)); e != Entering {
			t.Fatalf("event %d, want the part to come in", e)
		}
		if e := s.Step(at(1000)); e != Settled {
			t.Fatalf("event %d, want it to have settled", e)
		}
		s.Keep()
		if e := s.Step(at(1000)); e != Resting {
			t.Fatalf("event %d, want it to rest", e)
		}
		s.Exchange()
	}
}

// What is kept without having settled, as a person wants it, is not counted again.
func TestSuccessionKeptByHand(t *testing.T) {
	var s Succession
	for i, c := range []struct {
		g    Glimpse
		want Event
	}{{at(1000), Entering}, {at(1100), Entering}} {
		if e := s.Step(c.g); e != c.want {
			t.Errorf("step %d: %d, want %d", i+1, e, c.want)
		}
	}
	s.Keep()
	for i, c := range []struct {
		g    Glimpse
		want Event
	}{{at(1100), Resting}, {at(1100), Resting}, {open, Resting}, {open, Leaving}} {
		if e := s.Step(c.g); e != c.want {
			t.Errorf("after it was kept, step %d: %d, want %d", i+1, e, c.want)
		}
	}
	if s.Last() != open {
		t.Errorf("the last glimpse is %+v", s.Last())
	}
}

// Whatever is glimpsed, no part is counted twice without two glimpses of an empty jig
// between, and what is doubted was away for a moment only.
func TestSuccessionLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Succession
		counted, empty, row := false, 0, 0
		for range rapid.IntRange(1, 80).Draw(t, "steps") {
			g := rapid.SampledFrom([]Glimpse{open, open, bad, at(0), at(1000), at(1000.01), at(1003), at(2000)}).Draw(t, "glimpse")
			if row++; !g.Open {
				row = 0
			}
			empty = max(empty, row)
			switch s.Step(g) {
			case Settled:
				if counted && empty < lasting {
					t.Fatalf("counted again after %d glimpses of an empty jig", empty)
				}
				counted, empty = true, 0
				s.Keep()
			case Doubtful:
				if !counted {
					t.Fatal("doubted before anything was counted")
				}
			}
		}
	})
}
