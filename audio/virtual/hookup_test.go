package virtual

import (
	"math"
	"math/cmplx"
	"testing"
)

// toneThrough plays 1 kHz through a card and returns what both inputs hear of it.
func toneThrough(t *testing.T, c *Card) (a, b complex128) {
	t.Helper()
	s, err := c.Stream(testRate)
	if err != nil {
		t.Fatal(err)
	}
	drive := make([]float64, 20000)
	for i := range drive {
		drive[i] = 0.5 * math.Cos(2*math.Pi*1000/testRate*float64(i))
	}
	out, err := s.Process(nil, drive)
	if err != nil {
		t.Fatal(err)
	}
	var x [2][]float64
	for i, v := range out {
		x[i%2] = append(x[i%2], v)
	}
	const skip = 8000
	w := 2 * math.Pi * 1000 / testRate
	return phasor(x[0][skip:], w, skip), phasor(x[1][skip:], w, skip)
}

// In every wiring both inputs on one node hear the same, and one that is off the jig
// hears nothing and no longer loads it.
func TestHookups(t *testing.T) {
	for _, channels := range [][2]string{{"total", "part"}, {"reference", "total"}, {"part", "reference"}, {"part", "-reference"}} {
		j := Jig{Channels: channels, SourceOhm: 50, Inputs: [2]Input{{Ohm: 1e5}, {Ohm: 1e5}}}
		c, err := New(Config{Jig: j})
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Insert("resistor 2.2k"); err != nil {
			t.Fatal(err)
		}
		if err := c.Hook(Hookup{Joined: true}); err != nil {
			t.Fatal(err)
		}
		// Twice 100 kΩ behind 50 Ω, and part and reference: some 0.49.
		a, b := toneThrough(t, c)
		if cmplx.Abs(a-b) > 1e-12 || cmplx.Abs(a) < 0.45 || cmplx.Abs(a) > 0.5 {
			t.Errorf("%v joined: %v and %v", channels, a, b)
		}
		for off := 1; off <= 2; off++ {
			if err := c.Hook(Hookup{Terminated: off}); err != nil {
				t.Fatal(err)
			}
			a, b := toneThrough(t, c)
			heard := [2]complex128{a, b}
			if heard[off-1] != 0 || cmplx.Abs(heard[2-off]) < 0.05 {
				t.Errorf("%v without input %d: %v", channels, off, heard)
			}
		}
	}
}

// The other reference is in the place of that of the jig: with total and part and no
// other impedance, part/total is Z/(Z + R).
func TestOtherReference(t *testing.T) {
	c, err := New(Config{Jig: Jig{ReferenceOhm: 1000}})
	if err != nil {
		t.Fatal(err)
	}
	for _, ohm := range []float64{0, 4700} {
		if err := c.Insert("resistor 1k"); err != nil {
			t.Fatal(err)
		}
		if err := c.Hook(Hookup{ReferenceOhm: ohm}); err != nil {
			t.Fatal(err)
		}
		total, part := toneThrough(t, c)
		want := 1000 / (1000 + max(ohm, 1000))
		if ohm == 0 {
			want = 0.5
		}
		if got := cmplx.Abs(part / total); math.Abs(got-want) > 1e-9 {
			t.Errorf("reference %g: %v, want %v", ohm, got, want)
		}
	}
}

func TestHookupRefused(t *testing.T) {
	c, err := New(Config{})
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range []Hookup{{Terminated: 3}, {Terminated: -1}, {ReferenceOhm: -1}, {ReferenceOhm: math.Inf(1)}, {ReferenceOhm: math.NaN()}, {Joined: true, Terminated: 1}} {
		if c.Hook(h) == nil {
			t.Errorf("%+v is accepted", h)
		}
	}
	for _, name := range []string{"resistor", "resistor ", "resistor x", "resistor 0", "resistor -1"} {
		if c.Insert(name) == nil {
			t.Errorf("%q is put in", name)
		}
	}
}

// At full scale the third harmonic is as large as stated, at a tenth a hundred times
// smaller.
func TestThird(t *testing.T) {
	const n, k = 4800, 10
	for _, level := range []float64{1, 0.1} {
		src := make([]frame, n)
		for i := range src {
			src[i] = frame{level * math.Cos(2*math.Pi*k/n*float64(i)), 0}
		}
		y := channel(hear(t, Faults{Third: [2]float64{1e-3, 0}}, src), 0)
		third := cmplx.Abs(phasor(y, 3*2*math.Pi*k/n, 0))
		if want := 1e-3 * level * level * level; math.Abs(third/want-1) > 1e-6 {
			t.Errorf("level %g: third harmonic %g, want %g", level, third, want)
		}
	}
}
