package batch

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

var (
	open = Glimpse{Open: true}
	bad  = Glimpse{Ohm: math.NaN(), U: math.NaN(), Bad: true}
)

func at(ohm float64) Glimpse { return Glimpse{Ohm: ohm, U: 1e-4 * ohm} }

func TestPresence(t *testing.T) {
	type step struct {
		g    Glimpse
		want Event
	}
	for name, steps := range map[string][]step{
		"comes, settles, goes": {{open, Nothing}, {at(3000), Entering}, {at(720), Entering}, {at(700), Entering}, {at(700.05), Settled}, {at(700), Resting}, {open, Resting}, {open, Leaving}, {open, Nothing}},
		"next one":             {{at(650), Entering}, {at(650), Settled}, {open, Resting}, {open, Leaving}, {at(650), Entering}, {at(650.1), Settled}},
		"spoilt on the way":    {{bad, Nothing}, {at(700), Entering}, {bad, Entering}, {at(700), Entering}, {at(700), Settled}, {bad, Resting}},
		"contact fails":        {{at(650), Entering}, {at(650), Settled}, {open, Resting}, {at(650), Resting}, {open, Resting}, {at(640), Resting}},
		"never settles":        {{at(650), Entering}, {at(660), Entering}, {at(650), Entering}, {open, Nothing}, {at(650), Entering}},
		"a short":              {{at(0), Entering}, {at(0), Settled}, {open, Resting}, {open, Leaving}},
		"noisy":                {{Glimpse{Ohm: 100, U: 3}, Entering}, {Glimpse{Ohm: 115, U: 3}, Settled}},
	} {
		var p Presence
		for i, c := range steps {
			if got := p.Step(c.g); got != c.want {
				t.Errorf("%s, step %d: %d, want %d", name, i+1, got, c.want)
				break
			}
		}
	}
}

func TestOccupiedAndUnsettled(t *testing.T) {
	p := Occupied()
	for i, c := range []struct {
		g    Glimpse
		want Event
	}{{at(700), Resting}, {at(700), Resting}, {open, Resting}, {open, Leaving}, {at(700), Entering}, {at(700), Settled}} {
		if got := p.Step(c.g); got != c.want {
			t.Errorf("step %d: %d, want %d", i+1, got, c.want)
		}
	}
	p.Unsettle()
	if got := p.Step(at(710)); got != Entering {
		t.Errorf("moved: %d", got)
	}
	if got := p.Step(at(710)); got != Settled {
		t.Errorf("settled again: %d", got)
	}
	empty := Occupied()
	if a, b := empty.Step(open), empty.Step(open); a != Resting || b != Leaving {
		t.Errorf("nothing was in: %d, %d", a, b)
	}
}

// Whatever is glimpsed, a part settles once between two times that none is in, only on
// two glimpses that agree, and leaves only on two without one.
func TestPresenceLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var p Presence
		var before Glimpse
		settled, opens := false, 0
		for range rapid.IntRange(1, 60).Draw(t, "steps") {
			g := rapid.SampledFrom([]Glimpse{open, bad, at(0), at(100), at(100.01), at(200), {Ohm: math.NaN(), U: 1}}).Draw(t, "glimpse")
			if opens++; !g.Open {
				opens = 0
			}
			e := p.Step(g)
			switch {
			case e == Settled && (settled || !Agree(before, g) || g.Open):
				t.Fatalf("settled on %+v after %+v, settled before: %v", g, before, settled)
			case e == Leaving && (!settled || opens < 2):
				t.Fatalf("left after %d glimpses without a part, settled: %v", opens, settled)
			case e == Resting && !settled, (e == Nothing || e == Entering) && settled:
				t.Fatalf("event %d, settled: %v", e, settled)
			}
			settled = (settled || e == Settled) && e != Leaving
			before = g
		}
	})
}

// Parts at rest are taken for moving as seldom as four standard deviations say.
func TestAgree(t *testing.T) {
	const n, u = 20_000, 0.5
	rng := rand.New(rand.NewPCG(1, 2))
	torn := 0
	for range n {
		a := Glimpse{Ohm: 1e-3 + u*rng.NormFloat64(), U: u}
		if !Agree(a, Glimpse{Ohm: 1e-3 + u*rng.NormFloat64(), U: u}) {
			torn++
		}
	}
	if torn > 6 { // 1.3 expected; more than 6 happens once in 2,000 runs
		t.Errorf("%d of %d pairs at rest are told apart", torn, n)
	}
	if Agree(open, at(1e9)) || Agree(bad, bad) || !Agree(open, open) || Agree(at(100), at(101)) {
		t.Error("open and in, two spoilt ones, or one per cent of a part agree")
	}
}

func TestNoneOhm(t *testing.T) {
	for _, c := range []struct {
		l    parts.Limits
		unit parts.Unit
		want float64
	}{
		{parts.Limits{Low: 95, High: 105}, parts.Ohm, 10500},
		{parts.Limits{Low: 95e-9, High: 105e-9}, parts.Farad, 167531.5},
		{parts.Limits{Low: 9e-3, High: 11e-3}, parts.Henry, 6911.504},
		{parts.Limits{Low: 0, High: 1e-9}, parts.Farad, math.Inf(1)}, {parts.AtLeast(10), parts.Ohm, math.Inf(1)},
	} {
		if got := NoneOhm(c.l, c.unit, 1000); got != c.want && !(math.Abs(got/c.want-1) < 1e-6) {
			t.Errorf("%+v %s: %g, want %g", c.l, c.unit, got, c.want)
		}
	}
}
