package incircuit

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// A spot is a capacitor with series resistance among others on a board, drawn. Its
// impedance is written out here, apart from the networks that are fitted.
type drawnSpot struct {
	text         string
	farad, esr   float64
	nominal      float64
	z            func(w float64) complex128
	shunted      bool // one of the harder ones: two like branches, or one that shunts the ESR
	typicalTimes float64
}

func logUniform(r *rand.Rand, low, high float64) float64 {
	return low * math.Pow(high/low, r.Float64())
}

// seriesRC and so on are branches.
func seriesRC(ohm, farad float64) func(w float64) complex128 {
	return func(w float64) complex128 { return complex(ohm, -1/(w*farad)) }
}

func seriesRL(ohm, henry float64) func(w float64) complex128 {
	return func(w float64) complex128 { return complex(ohm, w*henry) }
}

func beside(branches ...func(w float64) complex128) func(w float64) complex128 {
	return func(w float64) complex128 {
		var y complex128
		for _, b := range branches {
			y += 1 / b(w)
		}
		return 1 / y
	}
}

// drawSpot draws a spot of one of the ways in which others hang on a capacitor.
func drawSpot(r *rand.Rand, i int, shunted bool) drawnSpot {
	s := drawnSpot{shunted: shunted}
	s.farad = logUniform(r, 1e-6, 1e-3)
	s.typicalTimes = logUniform(r, 0.5, 20)
	s.esr = 0.2 * math.Pow(100e-6/s.farad, 0.7) * s.typicalTimes
	s.nominal = s.farad * (0.9 + 0.3*r.Float64())
	part := seriesRC(s.esr, s.farad)
	at := func() float64 { // |Z| of the capacitor somewhere in the sweep
		return math.Hypot(s.esr, 1/(2*math.Pi*logUniform(r, 20, 20e3)*s.farad))
	}
	own := fmt.Sprintf("(C %.4g + R %.4g)", s.farad, s.esr)
	across := func(form string, args ...any) { s.text = own + " // " + fmt.Sprintf(form, args...) }
	ohm := at() * logUniform(r, 0.5, 30)
	if shunted {
		switch i % 4 {
		case 0: // two like branches
			c2, r2 := s.farad*logUniform(r, 0.6, 1.6), s.esr*logUniform(r, 0.02, 0.5)
			across("(C %.4g + R %.4g)", c2, r2)
			s.z = beside(part, seriesRC(r2, c2))
		case 1: // a sound small one beside a worn one
			c2 := s.farad * logUniform(r, 0.01, 0.2)
			r2 := 0.2 * math.Pow(100e-6/c2, 0.7) * 0.3
			across("(C %.4g + R %.4g)", c2, r2)
			s.z = beside(part, seriesRC(r2, c2))
		case 2: // a film capacitor
			c2 := s.farad * logUniform(r, 0.01, 0.3)
			across("C %.4g", c2)
			s.z = beside(part, seriesRC(0, c2))
		case 3: // a resistor and a filter
			r2, c2 := s.esr*logUniform(r, 1, 30), s.farad*logUniform(r, 0.03, 1)
			across("R %.4g // (R %.4g + C %.4g)", ohm, r2, c2)
			s.z = beside(part, seriesRC(r2, c2), seriesRC(ohm, math.Inf(1)))
		}
		return s
	}
	switch i % 4 {
	case 0:
		across("R %.4g", ohm)
		s.z = beside(part, seriesRC(ohm, math.Inf(1)))
	case 1:
		c2 := s.farad * logUniform(r, 0.02, 3)
		across("(R %.4g + C %.4g)", ohm, c2)
		s.z = beside(part, seriesRC(ohm, c2))
	case 2:
		henry := ohm / (2 * math.Pi * logUniform(r, 50, 10e3))
		across("(R %.4g + L %.4g)", ohm, henry)
		s.z = beside(part, seriesRL(ohm, henry))
	case 3:
		c2, r2 := s.farad*logUniform(r, 0.02, 3), 0.0
		if r.Float64() < 0.7 {
			r2 = 0.2 * math.Pow(100e-6/c2, 0.7) * logUniform(r, 0.3, 3)
		}
		across("(C %.4g + R %.4g)", c2, r2)
		s.z = beside(part, seriesRC(r2, c2))
	}
	return s
}

// readSpot reads a spot as a calibrated jig with 100 ohm does: noise at each point, and
// what all points share of load, contact and leads.
func readSpot(z func(w float64) complex128, r *rand.Rand, noise float64) *Sweep {
	const n, reference = 31, 100.0
	const load, contact, lead = 5.8e-4, 0.5e-3, 3e-9
	a, b, c := load*r.NormFloat64(), contact*r.NormFloat64(), lead*r.NormFloat64()
	s := &Sweep{}
	cov := mat.NewSymDense(2*n, nil)
	var scale, ohm, henry []float64
	for i := range n {
		f := 20 * math.Pow(1000, float64(i)/(n-1))
		w := 2 * math.Pi * f
		at := z(w)
		u := noise * (reference + cmplx.Abs(at)) * (1 + cmplx.Abs(at)/reference)
		s.FreqHz = append(s.FreqHz, f)
		s.Ohm = append(s.Ohm, at*complex(1+a, 0)+complex(b+u*r.NormFloat64(), w*c+u*r.NormFloat64()))
		cov.SetSym(2*i, 2*i, u*u)
		cov.SetSym(2*i+1, 2*i+1, u*u)
		scale = append(scale, load*real(at), load*imag(at))
		ohm = append(ohm, contact, 0)
		henry = append(henry, 0, lead*w)
	}
	for _, v := range [][]float64{scale, ohm, henry} {
		cov.SymRankOne(cov, 1, mat.NewVecDense(2*n, v))
	}
	s.Cov = cov
	return s
}

func TestDrawnSpots(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	drawnSpots(t, 4, 3)
}

func TestSoakDrawnSpots(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	drawnSpots(t, 100, 40)
}

// The bare capacitance and series resistance lie inside of their intervals, whatever
// hangs on them, and a series resistance well above that of a new part is never new.
func drawnSpots(t *testing.T, plain, hard int) {
	r := rand.New(rand.NewPCG(31+*seeds, 17))
	inside, narrow, told := 0, 0, 0
	for i := range plain + hard {
		s := drawSpot(r, i, i >= plain)
		noise := logUniform(r, 1e-6, 2e-5)
		a, err := Ask(readSpot(s.z, r, noise), Question{Kind: impedance.Capacitor, Nominal: s.nominal})
		if err != nil {
			t.Fatal(err)
		}
		if !a.Told {
			inside++
			t.Logf("%d undetermined: %s: %s", i, s.text, a.Why)
			continue
		}
		told++
		sign := parts.NewElectrolytic{Farad: s.nominal}.Resistance((a.Series.Low+a.Series.High)/2, (a.Series.High-a.Series.Low)/2/1.96)
		if s.typicalTimes > 3 && sign.Outcome == parts.AsNew {
			t.Errorf("%d: %s: a series resistance %.2g times that of a sound part is called new", i, s.text, s.typicalTimes)
		}
		half := (a.Value.High - a.Value.Low) / 2 / a.Value.Value
		if half < 0.2 {
			narrow++
		}
		if s.farad >= a.Value.Low && s.farad <= a.Value.High && s.esr >= a.Series.Low && s.esr <= a.Series.High {
			inside++
			if half > 0.2 {
				t.Logf("%d wide: %s: %.4g to %.4g, %s", i, s.text, a.Value.Low, a.Value.High, a.Why)
			}
			continue
		}
		t.Logf("%d outside: %s, noise %.2g: C in %.4g to %.4g, ESR in %.4g to %.4g; %s; %s", i, s.text, noise, a.Value.Low, a.Value.High, a.Series.Low, a.Series.High, a.Why, a.Models[0].Circuit)
	}
	all := plain + hard
	t.Logf("%d of %d inside, %d determined, %d within 20 %%", inside, all, told, narrow)
	if inside < all*13/14-1 || narrow < all*7/10 {
		t.Errorf("too few of %d: %d inside, %d within 20 %%", all, inside, narrow)
	}
}
