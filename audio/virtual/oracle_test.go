package virtual

import (
	"math"
	"math/cmplx"
	"testing"
)

// integrate is a slow reference: the classical rule of Runge and Kutta with so many
// steps per sample for dx/dt = f(t, x), from rest at t = 0. After each step see is
// given the time and x.
func integrate(f func(t float64, x, dx []float64), states, samples, steps int, see func(t float64, x []float64)) {
	h := 1 / (testRate * float64(steps))
	x, y := make([]float64, states), make([]float64, states)
	var k [4][]float64
	for i := range k {
		k[i] = make([]float64, states)
	}
	at := func(from []float64, step float64) []float64 {
		for i := range y {
			y[i] = x[i] + step*from[i]
		}
		return y
	}
	for n := range samples * steps {
		t := float64(n) * h
		see(t, x)
		f(t, x, k[0])
		f(t+h/2, at(k[0], h/2), k[1])
		f(t+h/2, at(k[1], h/2), k[2])
		f(t+h, at(k[2], h), k[3])
		for i := range x {
			x[i] += h / 6 * (k[0][i] + 2*k[1][i] + 2*k[2][i] + k[3][i])
		}
	}
}

// filtered takes one sample of many per sample, without what is beyond half the
// rate: a sinc under a raised cosine, 40 samples to both sides.
func filtered(y []float64, many int) []float64 {
	const reach = 40
	out := make([]float64, len(y)/many)
	for n := range out {
		for k := -reach * many; k <= reach*many; k++ {
			if i := n*many + k; i >= 0 && i < len(y) {
				s := float64(k) / float64(many)
				out[n] += y[i] * sinc(s) * (0.5 + 0.5*math.Cos(math.Pi*s/reach)) / float64(many)
			}
		}
	}
	return out
}

// burst is a tone that comes and goes so smoothly that it has no power beyond
// what the samples can hold.
func burst(t, freqHz float64) float64 {
	const length = 0.02
	if t < 0 || t > length {
		return 0
	}
	return math.Pow(math.Sin(math.Pi*t/length), 4) * math.Sin(2*math.Pi*freqHz*t)
}

// bursts is a burst in samples.
func bursts(n int, freqHz, peak float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = peak * burst(float64(i)/testRate, freqHz)
	}
	return out
}

// oraclePlay plays a burst through the source and the reference alone.
func oraclePlay(t *testing.T, p Part, freqHz, peak float64) []frame {
	t.Helper()
	j := full(t, Jig{SourceOhm: 50, ReferenceOhm: 950})
	pl, err := newPlayer(j.build(inserted{part: &p}), testRate, newKernel())
	if err != nil {
		t.Fatal(err)
	}
	y, err := pl.process(nil, bursts(1500, freqHz, peak))
	if err != nil {
		t.Fatal(err)
	}
	return y[playerFrames:]
}

// Whole transients, not only what is steady, against the reference.
func TestTransients(t *testing.T) {
	const r, samples = 1000.0, 1100 // the burst has 960
	cases := map[string]struct {
		part      Part
		peak, tol float64
		states    int
		f         func(u float64, x, dx []float64)
		volt      func(u float64, x []float64) float64 // of the part
	}{
		"resonance": {part: Part{Circuit: "C 100n // (L 10m + R 12)"}, peak: 1, tol: 2e-7, states: 2,
			f: func(u float64, x, dx []float64) {
				dx[0] = ((u-x[0])/r - x[1]) / 100e-9
				dx[1] = (x[0] - 12*x[1]) / 10e-3
			}},
		"junction": {part: Part{Circuit: "C 100n", Junctions: []Junction{{SaturationA: 4e-9, Emission: 1.85}}}, peak: 3, tol: 2e-4, states: 1,
			f: func(u float64, x, dx []float64) {
				dx[0] = ((u-x[0])/r - 4e-9*(math.Exp(x[0]/(1.85*thermalVolt))-1)) / 100e-9
			}},
		"ceramic": {part: Part{Ceramics: []Ceramic{{Farad: 1e-6, Volt: 1, SeriesOhm: 1}}}, peak: 5, tol: 2e-4, states: 1,
			f: func(u float64, x, dx []float64) {
				dx[0] = (u - ceramicVolt(x[0])) / (r + 1)
			},
			volt: func(u float64, x []float64) float64 {
				v := ceramicVolt(x[0])
				return v + (u-v)/(r+1)
			}},
		"core": {part: Part{Cores: []Core{{Henry: 0.1, FluxVs: 1e-4, WindingOhm: 20, LossOhm: 1e5}}}, peak: 5, tol: 2e-4, states: 1,
			f: func(u float64, x, dx []float64) { dx[0] = coreVolt(u, x[0]) },
			volt: func(u float64, x []float64) float64 {
				v := coreVolt(u, x[0])
				return v + 20*(u-v)/(r+20)
			}},
	}
	const freqHz = 700
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			got := oraclePlay(t, c.part, freqHz, c.peak)
			const steps = 32
			var fine []float64
			integrate(func(at float64, x, dx []float64) { c.f(c.peak*burst(at, freqHz), x, dx) }, c.states, samples, steps,
				func(at float64, x []float64) {
					if c.volt != nil {
						fine = append(fine, c.volt(c.peak*burst(at, freqHz), x))
						return
					}
					fine = append(fine, x[0])
				})
			worst := 0.0
			for n, want := range filtered(fine, steps) {
				worst = max(worst, math.Abs(got[n][1]-want)/c.peak)
			}
			t.Logf("off by %.2g of the drive", worst)
			if worst > c.tol {
				t.Errorf("off by %.2g of the drive, want at most %.2g", worst, c.tol)
			}
		})
	}
}

// ceramicVolt is the voltage of 1 µF with V0 = 1 V that holds the charge q.
func ceramicVolt(q float64) float64 {
	x := q / 1e-6
	return x / math.Sqrt(1-x*x)
}

// coreVolt is the voltage across the inductance of the core above: what drives it,
// through r and the winding, against the loss resistor and the current of the flux.
func coreVolt(u, flux float64) float64 {
	i := flux / 0.1 * (1 + math.Pow(flux/1e-4, 4))
	g := 1.0 / 1020
	return (u*g - i) / (g + 1e-5)
}

// The fundamental up to a fifth of the rate, against four times the rate, where
// the steps are four times as short.
func TestNonlinearAtHighFrequencies(t *testing.T) {
	parts := map[string]Part{
		"junction": {Circuit: "C 2n", Junctions: []Junction{{SeriesOhm: 10}}},
		"ceramic":  {Ceramics: []Ceramic{{Farad: 22e-9, Volt: 0.5, SeriesOhm: 1}}},
		"core":     {Cores: []Core{{Henry: 20e-3, FluxVs: 1e-5, WindingOhm: 22}}},
	}
	for name, p := range parts {
		t.Run(name, func(t *testing.T) {
			const freqHz = 0.2 * 48000
			slow := spiceCase{rateHz: 48000, jig: Jig{SourceOhm: 33, ReferenceOhm: 500}, part: p, seconds: 0.1, drive: 1.4}
			fast := slow
			fast.rateHz = 192000
			got, want := playCase(t, slow, freqHz), playCase(t, fast, freqHz)
			for ch := range got {
				e := cmplx.Abs(got[ch]-want[ch]) / cmplx.Abs(want[ch])
				t.Logf("input %d: apart by %.2g", ch+1, e)
				if e > 3e-4 {
					t.Errorf("input %d: apart by %.2g, 3e-4 is the contract", ch+1, e)
				}
			}
		})
	}
}

// Harmonics above 0.6 of the rate do not come back below: a converter has a filter.
func TestNoAliases(t *testing.T) {
	const freqHz = 17000.0 // three times this is 51 000, which would be heard at 3000
	c := spiceCase{rateHz: 48000, jig: Jig{SourceOhm: 33}, part: Part{Junctions: []Junction{{}, {Reverse: true}}}}
	j := full(t, c.jig)
	p, err := newPlayer(j.build(inserted{part: &c.part}), c.rateHz, newKernel())
	if err != nil {
		t.Fatal(err)
	}
	drive := make([]float64, 14400)
	for i := range drive {
		fade := min(1, float64(i)/4800)
		drive[i] = fade * fade * (3 - 2*fade) * math.Sin(2*math.Pi*freqHz/c.rateHz*float64(i))
	}
	y, err := p.process(nil, drive)
	if err != nil {
		t.Fatal(err)
	}
	last := channel(y, 1)[4800+1000:]
	fundamental := cmplx.Abs(phasor(last, 2*math.Pi*freqHz/c.rateHz, 0))
	alias := cmplx.Abs(phasor(last, 2*math.Pi*3000/c.rateHz, 0))
	if fundamental < 0.1 || alias > 1e-6*fundamental {
		t.Errorf("an alias of %g beside %g", alias, fundamental)
	}
}
