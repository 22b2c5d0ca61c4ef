package record

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
	"gonum.org/v1/gonum/mat"
)

// records is how many records a statistical case takes; few in a short run, which
// looks for races.
func records() int {
	switch {
	case *testkit.Soak:
		return 20000
	case testing.Short():
		return 16
	}
	return 150
}

// eachRecord runs f for many seeds on all cores and returns what it gave, in order.
func eachRecord[T any](n int, f func(seed uint64) T) []T {
	out := make([]T, n)
	var wg sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := 0; w < workers; w++ {
		wg.Go(func() {
			for i := w; i < n; i += workers {
				out[i] = f(uint64(i + 1))
			}
		})
	}
	wg.Wait()
	return out
}

// scene makes stereo records of a jig: one tone, hum, noise of several colours.
type scene struct {
	rateHz, toneHz, seconds float64
	a1, a2                  complex128 // at the middle of the record
	white, pink, common     float64    // rms per channel; common noise is scaled by a2/a1
	hum                     float64    // amplitude of each mains line
	mainsHz, spread, drift  float64
	orders                  int
	modulation              float64 // of the hum, 0.01 for 1 %
	silenceS                float64
}

func (sc scene) make(seed uint64) (Signal, *rand.Rand) {
	rng := rand.New(rand.NewPCG(seed, 99))
	lead := int(sc.silenceS * sc.rateHz)
	n := int(sc.seconds*sc.rateHz) + lead
	x := [][]float64{make([]float64, n), make([]float64, n)}
	mains := sc.mainsHz + sc.spread*(2*rng.Float64()-1)
	drift := sc.drift * (2*rng.Float64() - 1)
	humStart, humGain := make([]complex128, sc.orders+1), rng.Float64()+0.5
	for h := range humStart {
		humStart[h] = cmplx.Rect(1, 2*math.Pi*rng.Float64())
	}
	var p1, p2 []float64
	if sc.pink > 0 {
		p1, p2 = pinkNoise(n, rng), pinkNoise(n, rng)
	}
	ratio := real(sc.a2 / sc.a1)
	slow := 2 * math.Pi * rng.Float64()
	for i := range x[0] {
		t := (float64(i-lead) - float64(n-lead-1)/2) / sc.rateHz
		if i >= lead {
			turn := cmplx.Exp(complex(0, 2*math.Pi*sc.toneHz*t))
			x[0][i], x[1][i] = real(sc.a1*turn), real(sc.a2*turn)
		}
		hum, turn := 0.0, cmplx.Exp(complex(0, 2*math.Pi*(mains*t+drift/2*t*t)))
		for h, power := 1, turn; h <= sc.orders; h++ {
			hum += real(power * humStart[h])
			power *= turn
		}
		hum *= sc.hum * (1 + sc.modulation*math.Sin(2*math.Pi*3.1*t+slow))
		c := sc.common * rng.NormFloat64()
		x[0][i] += hum + c + sc.white*rng.NormFloat64()
		x[1][i] += humGain*hum + ratio*c + sc.white*rng.NormFloat64()
		if sc.pink > 0 {
			x[0][i] += sc.pink * p1[i]
			x[1][i] += sc.pink * p2[i]
		}
	}
	return Signal{RateHz: sc.rateHz, Channels: x}, rng
}

// pinkNoise is a sum of relaxation processes, one per octave: 1/f over the record.
func pinkNoise(n int, rng *rand.Rand) []float64 {
	const stages = 10
	var state, keep, drive [stages]float64
	for s := range state {
		keep[s] = math.Exp(-0.9 * math.Pow(0.5, float64(s)))
		drive[s] = math.Sqrt(1 - keep[s]*keep[s])
		state[s] = rng.NormFloat64()
	}
	x := make([]float64, n)
	for i := range x {
		for s := range state {
			state[s] = keep[s]*state[s] + drive[s]*rng.NormFloat64()
			x[i] += state[s] / math.Sqrt(stages)
		}
	}
	return x
}

// boundFor returns the Cramér–Rao bounds on the relative variance of the amplitude and
// on the variance of the phase of one tone in white noise, with everything else the
// fit finds in the bound: frequency, offset, slope, curvature and the harmonics (Rife
// and Boorstyn 1974; Kay, Fundamentals of Statistical Signal Processing 1, 3.14).
func boundFor(n int, rateHz, toneHz, sigma float64, a complex128) (amplitude, phase float64) {
	harmonics := min(5, int(0.49*rateHz/toneHz))
	j := mat.NewDense(n, 6+2*(harmonics-1), nil)
	for i := 0; i < n; i++ {
		t := (float64(i) - float64(n-1)/2) / rateHz
		th := 2*math.Pi*toneHz*t + cmplx.Phase(a)
		s, c := math.Sincos(th)
		row := []float64{cmplx.Abs(a) * c, -cmplx.Abs(a) * s, -cmplx.Abs(a) * t * s, 1, t, t * t}
		for k := 2; k <= harmonics; k++ {
			s, c := math.Sincos(2 * math.Pi * toneHz * float64(k) * t)
			row = append(row, c, s)
		}
		j.SetRow(i, row)
	}
	var fisher, inverse mat.Dense
	fisher.Mul(j.T(), j)
	if err := inverse.Inverse(&fisher); err != nil {
		panic(err)
	}
	return sigma * sigma * inverse.At(0, 0), sigma * sigma * inverse.At(1, 1)
}

func TestVarianceMeetsTheCramerRaoBound(t *testing.T) {
	for _, toneHz := range []float64{120, 1000, 3210.7} {
		t.Run(fmt.Sprintf("%g Hz", toneHz), func(t *testing.T) {
			if toneHz != 1000 {
				testkit.SoakOnly(t)
			}
			sc := scene{rateHz: 8000, toneHz: toneHz, seconds: 0.25, a1: cmplx.Rect(0.5, 0.3), a2: cmplx.Rect(0.2, -1), white: 1e-3}
			type outcome struct{ amplitude, phase float64 }
			got := eachRecord(records(), func(seed uint64) outcome {
				sig, _ := sc.make(seed)
				a, err := Analyze(sig, Config{TonesHz: []float64{toneHz}})
				if err != nil || len(a.Tones) != 1 {
					return outcome{math.NaN(), math.NaN()}
				}
				e := a.Tones[0].Phasors[0]/sc.a1 - 1
				return outcome{real(e), imag(e)}
			})
			wantA, wantP := boundFor(int(sc.seconds*sc.rateHz), sc.rateHz, toneHz, sc.white, sc.a1)
			var va, vp float64
			for _, o := range got {
				va += o.amplitude * o.amplitude / float64(len(got))
				vp += o.phase * o.phase / float64(len(got))
			}
			// The sample variance of n records scatters by √(2/n); four of these.
			limit := 1.05 + 4*math.Sqrt(2/float64(len(got)))
			t.Logf("%d records: variance over bound %.3f (amplitude), %.3f (phase)", len(got), va/wantA, vp/wantP)
			if !(va/wantA < limit) || !(vp/wantP < limit) {
				t.Errorf("variance over bound %.3f, %.3f; want at most %.3f", va/wantA, vp/wantP, limit)
			}
		})
	}
}

func TestMainsDoNotBiasTheTone(t *testing.T) {
	for _, tc := range []struct{ toneHz, mainsHz float64 }{{120, 50}, {1030, 50}, {100, 60}, {1030, 60}} {
		t.Run(fmt.Sprintf("%g Hz under %g Hz mains", tc.toneHz, tc.mainsHz), func(t *testing.T) {
			if tc.toneHz == 1030 {
				testkit.SoakOnly(t)
			}
			sc := scene{rateHz: 4000, toneHz: tc.toneHz, seconds: 0.5, a1: 1, a2: 0.5, white: 1e-5,
				hum: 0.1, mainsHz: tc.mainsHz, spread: 0.2, drift: 0.005, orders: 9}
			got := eachRecord(records(), func(seed uint64) complex128 {
				sig, _ := sc.make(seed)
				a, err := Analyze(sig, Config{TonesHz: []float64{tc.toneHz}, MainsHz: tc.mainsHz})
				if err != nil || len(a.Tones) != 1 {
					return cmplx.NaN()
				}
				middle := float64(a.First+a.End-sig.Frames()) / 2 / sc.rateHz
				return a.Tones[0].Phasors[0]/cmplx.Exp(complex(0, 2*math.Pi*tc.toneHz*middle)) - 1
			})
			var mean complex128
			worst := 0.0
			for _, e := range got {
				mean += e / complex(float64(len(got)), 0)
				worst = math.Max(worst, cmplx.Abs(e))
			}
			t.Logf("%d records: mean error %.2g, worst %.2g of the amplitude", len(got), cmplx.Abs(mean), worst)
			if !(cmplx.Abs(mean) < 1e-6) || !(worst < 3e-6) {
				t.Errorf("mean error %g (want below 1e-6), worst %g", cmplx.Abs(mean), worst)
			}
		})
	}
}

// insideRegion says whether the true ratio lies in the claimed 95 % region: noise
// circular about the estimate, its variance known from ν degrees of freedom, so that
// |error|² ≤ u²·2F(2, ν), F the 95 % quantile (Hotelling, Ann. Math. Stat. 2 (1931) 360).
func insideRegion(t *ToneFit, want complex128) bool {
	got := t.Phasors[1] / t.Phasors[0]
	u := t.ratioU() * cmplx.Abs(got)
	f := t.Dof / 2 * (math.Pow(20, 2/t.Dof) - 1)
	return cmplx.Abs(got-want) <= u*math.Sqrt(2*f)
}

func TestRatioRegionsHoldTheTruth(t *testing.T) {
	base := scene{rateHz: 4000, toneHz: 1030, seconds: 0.4, a1: cmplx.Rect(0.5, 0.3), a2: cmplx.Rect(0.2, -1), mainsHz: 50, spread: 0.2, drift: 0.005, orders: 9}
	for _, tc := range []struct {
		name   string
		change func(*scene)
		atMost float64
		long   bool
	}{
		{"white noise", func(s *scene) { s.white = 1e-3 }, 0.97, false},
		{"white noise, most of it common", func(s *scene) { s.white, s.common = 3e-4, 1e-3 }, 0.97, true},
		{"pink noise", func(s *scene) { s.pink, s.toneHz = 1e-3, 120.3 }, 0.97, false},
		{"pink noise, high tone", func(s *scene) { s.pink = 1e-3 }, 0.97, true},
		{"hum", func(s *scene) { s.white, s.hum = 1e-3, 0.03 }, 0.97, false},
		{"hum beside the tone", func(s *scene) { s.white, s.hum, s.toneHz = 1e-3, 0.03, 120 }, 0.97, true},
		{"hum that pulsates", func(s *scene) { s.white, s.hum, s.modulation = 1e-4, 0.03, 0.01 }, 1, false},
		{"hum of 25 orders", func(s *scene) { s.white, s.hum, s.orders = 1e-4, 0.003, 25 }, 1, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			if tc.long {
				testkit.SoakOnly(t)
			}
			sc := base
			tc.change(&sc)
			inside := 0
			for _, in := range eachRecord(records(), func(seed uint64) bool {
				sig, _ := sc.make(seed)
				a, err := Analyze(sig, Config{TonesHz: []float64{sc.toneHz}, MainsHz: 50})
				return err == nil && len(a.Tones) == 1 && insideRegion(&a.Tones[0], sc.a2/sc.a1)
			}) {
				if in {
					inside++
				}
			}
			share := float64(inside) / float64(records())
			slack := 3 * math.Sqrt(0.05*0.95/float64(records())) // of the sample itself
			t.Logf("%d records: %.1f %% inside", records(), 100*share)
			if share < 0.93-slack || share > tc.atMost+slack {
				t.Errorf("%.1f %% of the regions hold the truth", 100*share)
			}
		})
	}
}

func TestTonesOnMainsMultiples(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	base := scene{rateHz: 4000, toneHz: 100, seconds: 0.5, a1: cmplx.Rect(0.5, 0.3), a2: cmplx.Rect(0.2, -1), white: 1e-4, mainsHz: 50, spread: 0.02}
	for _, tc := range []struct {
		name   string
		change func(*scene)
		there  bool
	}{
		{"hum there, silence before", func(s *scene) { s.hum, s.orders, s.silenceS = 0.01, 5, 0.3 }, true},
		{"hum there, no silence", func(s *scene) { s.hum, s.orders = 0.01, 5 }, true},
		{"hum elsewhere, silence before", func(s *scene) { s.hum, s.orders, s.silenceS = 0.01, 1, 0.3 }, false},
		{"no hum", func(s *scene) {}, false},
		{"no hum, silence before", func(s *scene) { s.silenceS = 0.3 }, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			sc := base
			tc.change(&sc)
			n := min(50, records())
			reported, covered := 0, 0
			for _, got := range eachRecord(n, func(seed uint64) [2]bool {
				sig, _ := sc.make(seed)
				a, err := Analyze(sig, Config{TonesHz: []float64{sc.toneHz}, MainsHz: 50})
				if err != nil || len(a.Tones) != 1 {
					return [2]bool{}
				}
				tone := a.Tones[0]
				e := cmplx.Abs(tone.Phasors[1]/tone.Phasors[0] - sc.a2/sc.a1)
				line := math.Hypot(tone.LineU[1]/cmplx.Abs(tone.Phasors[1]), tone.LineU[0]/cmplx.Abs(tone.Phasors[0])) * cmplx.Abs(sc.a2/sc.a1)
				u := math.Hypot(line, tone.ratioU()*cmplx.Abs(sc.a2/sc.a1))
				return [2]bool{hasCode(a.Findings, finding.Interference), line > 0 && e < 3*u}
			}) {
				if got[0] {
					reported++
				}
				if got[1] {
					covered++
				}
			}
			t.Logf("%d records: interference in %d, error within three u in %d", n, reported, covered)
			if tc.there && reported < n*99/100 {
				t.Errorf("interference reported in %d of %d records that have it", reported, n)
			}
			if !tc.there && reported > n/50 {
				t.Errorf("interference reported in %d of %d records that have none", reported, n)
			}
			if covered < n*95/100 {
				t.Errorf("the stated uncertainty covers %d of %d", covered, n)
			}
		})
	}
}

func hasCode(findings []finding.Finding, code finding.Code) bool {
	for _, f := range findings {
		if f.Code == code {
			return true
		}
	}
	return false
}
