package plot

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/uncertain"
)

func texts(ticks []tick) string {
	var out []string
	for _, t := range ticks {
		if t.text != "" {
			out = append(out, t.text)
		}
	}
	return strings.Join(out, " | ")
}

// tickCases are those that the page's axes are held to as well.
func tickCases(t *testing.T) (cases []struct {
	Name      string   `json:"name"`
	Kind      string   `json:"kind"`
	Low, High float64  `json:",omitempty"`
	Most      int      `json:"most"`
	Unit      string   `json:"unit"`
	Labels    []string `json:"labels"`
	In        string   `json:"in"`
}) {
	t.Helper()
	text, err := os.ReadFile("testdata/ticks.json")
	if err == nil {
		err = json.Unmarshal(text, &cases)
	}
	if err != nil {
		t.Fatal(err)
	}
	return cases
}

func TestTicks(t *testing.T) {
	for _, c := range tickCases(t) {
		labels, _, in := axis{c.Low, c.High, c.Kind == "log"}.places(c.Most, c.Unit)
		if got := strings.Split(texts(labels), " | "); !slices.Equal(got, c.Labels) || in != c.In {
			t.Errorf("%s: got %q in %q\nwant %q in %q", c.Name, got, in, c.Labels, c.In)
		}
	}
}

// Whatever the range, ticks lie on the axis, rise, and no two read alike.
func TestTickProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := math.Pow(10, rapid.Float64Range(-12, 8).Draw(t, "log of low"))
		span := math.Pow(10, rapid.Float64Range(-5, 4).Draw(t, "log of span"))
		a := axis{low, low * (1 + span), rapid.Bool().Draw(t, "log")}
		ticks := a.ticks("Ω")
		seen := map[string]bool{}
		for i, k := range ticks {
			if at := a.at(k.value); at < -1e-6 || at > 1+1e-6 {
				t.Errorf("%+v: tick %d at %g", a, i, at)
			}
			if i > 0 && !(k.value > ticks[i-1].value) {
				t.Errorf("%+v: tick %d does not rise", a, i)
			}
			if k.text != "" && seen[k.text] {
				t.Errorf("%+v: %s twice", a, k.text)
			}
			seen[k.text] = true
		}
		if n := strings.Count(texts(ticks), " | ") + 1; n < 3 {
			t.Errorf("%+v: %d labels", a, n)
		}
	})
}

func TestAxisWidens(t *testing.T) {
	if a := (axis{100, 100, true}).atLeast(10); math.Abs(a.high/a.low-10) > 1e-12 || math.Abs(a.high*a.low-1e4) > 1e-9 {
		t.Errorf("got %+v, want a decade about 100", a)
	}
	if a := (axis{-1, 1, false}).atLeast(10); a.low != -5 || a.high != 5 {
		t.Errorf("got %+v, want -5 to 5", a)
	}
	if a := (axis{1, 100, true}).atLeast(10); a.low != 1 || a.high != 100 {
		t.Errorf("got %+v, want it as it was", a)
	}
}

// A single wide interval does not decide on the axis, but its value is on it.
func TestCovering(t *testing.T) {
	q := func(v, half float64) uncertain.Quantity {
		return uncertain.Quantity{Value: v, U: half / 2, Low: v - half, High: v + half}
	}
	list := []uncertain.Quantity{q(100, 0.1), q(100.2, 0.1), q(101, 50), q(99.9, 0.1)}
	a, ok := covering(list, false)
	if !ok || math.Abs(a.low-99.8) > 1e-9 || a.high != 101 {
		t.Errorf("got %+v, %t", a, ok)
	}
	unbounded := []uncertain.Quantity{{Value: 3, U: 1, Low: 2, High: math.Inf(1)}, {Value: -1, U: 1, Low: -2, High: 0}}
	if a, ok := covering(unbounded, true); !ok || a.low != 3 || a.high != 3 {
		t.Errorf("logarithmic, without bound: got %+v, %t", a, ok)
	}
	if _, ok := covering(unbounded[1:], true); ok {
		t.Error("nothing above zero covers a logarithmic axis")
	}
}

// No label of a vertical axis is as near to the next as its letters are high.
func TestLabelsDoNotOverlap(t *testing.T) {
	const letters = 9 // points, of 8.5 point type
	for name, f := range figures() {
		s, err := newSheet(f)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		room := float64(pictureHigh-marginTop-marginBottom) - headHigh*float64(len(s.panels))
		total := 0.0
		for _, p := range s.panels {
			total += p.height
		}
		for _, p := range s.panels {
			labelled := slices.DeleteFunc(slices.Clone(p.ticks), func(k tick) bool { return k.text == "" })
			for i := 1; i < len(labelled); i++ {
				apart := (p.y.at(labelled[i].value) - p.y.at(labelled[i-1].value)) * room * p.height / total
				if apart < letters {
					t.Errorf("%s, %s: %s and %s are %.1f points apart", name, p.title, labelled[i-1].text, labelled[i].text, apart)
				}
			}
		}
	}
}
