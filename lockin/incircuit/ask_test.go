package incircuit

import (
	"flag"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/impedance"
)

var seeds = flag.Uint64("seeds", 0, "draw other errors")

var soak = flag.Bool("soak", false, "run the long statistical tests")

// board is a part with its surroundings, in the notation of circuits.
type board struct {
	kind    impedance.Kind
	value   float64
	nominal float64
	part    string
	around  string // empty for none
}

// boards are those that one meets: a rail, a coupling capacitor, a snubber, a
// filter, a gate resistor, a relay, a choke, and so on.
var boards = []board{
	{impedance.Capacitor, 100e-6, 100e-6, "R 0.12 + C 100u", ""},
	{impedance.Capacitor, 100e-6, 100e-6, "R 0.12 + C 100u", "R 150"},
	{impedance.Capacitor, 1e-6, 1e-6, "R 0.5 + C 1u", "R 1k"},
	{impedance.Capacitor, 1e-6, 1e-6, "R 0.5 + C 1u", "R 10k // (R 330 + C 2.2u)"},
	{impedance.Capacitor, 220e-9, 220e-9, "R 2 + C 220n", "R 470 + C 1u"},
	{impedance.Capacitor, 10e-9, 10e-9, "R 5 + C 10n", "R 22k"},
	{impedance.Capacitor, 10e-9, 10e-9, "R 5 + C 10n", "R 47k + C 4.7n"},
	{impedance.Capacitor, 470e-6, 470e-6, "R 0.05 + C 470u", "R 8 + L 3m"},
	{impedance.Capacitor, 47e-6, 47e-6, "R 0.3 + C 47u", "R 33 + L 20m"},
	{impedance.Capacitor, 4.7e-6, 4.7e-6, "R 1.5 + C 4.7u", "R 2.2k // (R 100 + L 100m)"},
	{impedance.Inductor, 10e-3, 10e-3, "R 5 + L 10m", ""},
	{impedance.Inductor, 10e-3, 10e-3, "R 5 + L 10m", "R 1k"},
	{impedance.Inductor, 100e-3, 100e-3, "R 40 + L 100m", "R 2.2k + C 100n"},
	{impedance.Inductor, 1e-3, 1e-3, "R 1 + L 1m", "R 47 + C 1u"},
	{impedance.Inductor, 22e-3, 22e-3, "R 12 + L 22m", "R 4.7k // (R 680 + C 47n)"},
	{impedance.Resistor, 1000, 1000, "R 1k", "R 220 + C 100n"},
	{impedance.Resistor, 4700, 4700, "R 4.7k", "R 1k + C 10n"},
	{impedance.Resistor, 100, 100, "R 100", "R 15 + L 10m"},
	{impedance.Resistor, 10e3, 10e3, "R 10k", "R 2.2k + C 22n"},
	{impedance.Resistor, 47, 47, "R 47", "R 10 + C 4.7u"},
}

// condition is how well and over what the board is read.
type condition struct {
	name      string
	low, high float64
	points    int
	noise     float64 // relative standard deviation of each point, each axis
	common    float64 // relative, of all points alike, as of a load
}

var conditions = []condition{
	{"well", 20, 20e3, 31, 5e-4, 5e-4},
	{"roughly", 20, 20e3, 21, 5e-3, 5e-4},
	{"narrowly", 200, 5e3, 15, 1e-3, 5e-4},
}

// read makes a sweep of a board with errors drawn as its covariance says.
func (b board) read(t testing.TB, c condition, rng *rand.Rand) (*Sweep, *circuit.Circuit) {
	t.Helper()
	text := b.part
	if b.around != "" {
		text = "(" + b.part + ") // (" + b.around + ")"
	}
	whole, err := circuit.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	s := &Sweep{Cov: nil}
	scale := 1 + c.common*rng.NormFloat64()
	n := c.points
	cov, ones := mat.NewSymDense(2*n, nil), make([]float64, 2*n)
	for i := range n {
		f := c.low * math.Pow(c.high/c.low, float64(i)/float64(n-1))
		z := whole.Impedance(f)
		u := c.noise * cmplx.Abs(z)
		s.FreqHz = append(s.FreqHz, f)
		s.Ohm = append(s.Ohm, z*complex(scale, 0)+complex(u*rng.NormFloat64(), u*rng.NormFloat64()))
		cov.SetSym(2*i, 2*i, u*u)
		cov.SetSym(2*i+1, 2*i+1, u*u)
		ones[2*i], ones[2*i+1] = c.common*real(z), c.common*imag(z)
	}
	cov.SymRankOne(cov, 1, mat.NewVecDense(2*n, ones))
	s.Cov = cov
	return s, whole
}

func TestPartsInBoards(t *testing.T) {
	if testing.Short() {
		t.Skip("statistics, not in short runs")
	}
	inside, told, useful, all := 0, 0, 0, 0
	var took time.Duration
	for i, b := range boards {
		if !*soak && i%4 != 1 {
			continue
		}
		for k, c := range conditions {
			s, _ := b.read(t, c, rand.New(rand.NewPCG(uint64(i), *seeds+uint64(k))))
			began := time.Now()
			a, err := Ask(s, Question{Kind: b.kind, Nominal: b.nominal})
			took += time.Since(began)
			if err != nil {
				t.Fatal(err)
			}
			all++
			ok := !a.Told || a.Value.Low <= b.value && b.value <= a.Value.High
			if ok {
				inside++
			} else {
				t.Logf("MISS %s // %s, %s: %.4g to %.4g, truth %.4g; %s; %s", b.part, b.around, c.name, a.Value.Low, a.Value.High, b.value, a.Why, a.Models[0].Circuit)
			}
			if a.Told {
				told++
				if (a.Value.High-a.Value.Low)/2/a.Value.Value < 0.2 {
					useful++
				}
			} else {
				t.Logf("not told: %s // %s, %s: %s (chance %.2g, %s)", b.part, b.around, c.name, a.Why, a.Models[0].Chance, a.Models[0].Around)
			}
		}
	}
	t.Logf("%d of %d hold the part, %d told, %d within 20 %%; %.0f ms each", inside, all, told, useful, float64(took.Milliseconds())/float64(all))
	if inside < all*52/60 {
		t.Errorf("only %d of %d answers hold the part", inside, all)
	}
	if useful < all/2 {
		t.Errorf("only %d of %d answers are of use", useful, all)
	}
}

// What is not among the families is not made to fit.
func TestOtherSurroundingsAreNotForced(t *testing.T) {
	b := board{impedance.Capacitor, 1e-6, 1e-6, "R 0.5 + C 1u", "R 50 + L 5m + C 3u"}
	s, _ := b.read(t, conditions[0], rand.New(rand.NewPCG(1, 1)))
	a, err := Ask(s, Question{Kind: b.kind, Nominal: b.nominal, Families: []Family{R}})
	if err != nil {
		t.Fatal(err)
	}
	if a.Told || !a.Value.IsAbsent() || a.Why == "" {
		t.Errorf("a resonant branch is taken for a resistor: %+v, %s", a.Value, a.Why)
	}
}

// A capacitor beside a capacitor is one capacitor at every frequency, and a resistor
// beside a resistor one resistor: the answer says that it is that of both.
func TestWhatIsAlikeCannotBeParted(t *testing.T) {
	for _, c := range []struct {
		b      board
		family Family
	}{
		{board{impedance.Capacitor, 1.47e-6, 1e-6, "R 0.5 + C 1.47u", ""}, C},
		{board{impedance.Resistor, 500, 1000, "R 1k", "R 1k"}, R},
	} {
		s, _ := c.b.read(t, conditions[0], rand.New(rand.NewPCG(2, 1)))
		a, err := Ask(s, Question{Kind: c.b.kind, Nominal: c.b.nominal, Families: []Family{c.family}})
		if err != nil {
			t.Fatal(err)
		}
		if !a.Told || a.Assumed == "" || a.Value.Low > c.b.value || a.Value.High < c.b.value {
			t.Errorf("%s: %+v, %q, %s", c.family, a.Value, a.Assumed, a.Why)
		}
	}
}

func TestAskRefuses(t *testing.T) {
	b := boards[1]
	s, _ := b.read(t, conditions[0], rand.New(rand.NewPCG(3, 1)))
	if _, err := Ask(s, Question{}); err == nil {
		t.Error("no kind: no error")
	}
	for name, bad := range map[string]*Sweep{
		"nothing":       {},
		"no covariance": {FreqHz: s.FreqHz, Ohm: s.Ohm},
		"singular":      {FreqHz: s.FreqHz, Ohm: s.Ohm, Cov: mat.NewSymDense(2*len(s.FreqHz), nil)},
		"not finite":    {FreqHz: s.FreqHz, Ohm: make([]complex128, len(s.Ohm)), Cov: s.Cov},
	} {
		if _, err := Ask(bad, Question{Kind: b.kind}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if f, err := ParseFamilies(" rc, R,rc"); err != nil || len(f) != 2 || f[0] != RC {
		t.Errorf("%v, %v", f, err)
	}
	if _, err := ParseFamilies("R,X"); err == nil {
		t.Error("an unknown family: no error")
	}
}
