package identify

import (
	"flag"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/circuit"
)

// benchPart is a part from a drawer: what it may be called, and its value where the
// interval must contain it.
type benchPart struct {
	may   []Family
	value float64 // 0: not held against the interval
	z     func(w float64) complex128
}

// benchParts draws parts that lie about on benches, with their parasitics, in formulas
// of its own: ranges are what the trade sells (common practice, no source).
var benchParts = []struct {
	kind string
	draw func(r *rand.Rand) benchPart
}{
	{"small coil", func(r *rand.Rand) benchPart {
		henry := decades(r, 0.3e-6, 10e-6)
		ohm, farad := decades(r, 5e-3, 0.2)*math.Sqrt(henry/1e-6), decades(r, 0.5e-12, 5e-12)
		return benchPart{may: []Family{AirCoil, Coil, CoreCoil}, value: henry, z: func(w float64) complex128 { return across(complex(ohm, w*henry), capacitor(farad, w)) }}
	}},
	{"bead", func(r *rand.Rand) benchPart {
		// Ferrite: μ falls as 1/(1 + jf/f0), far above the sweep.
		henry, ohm, f0 := decades(r, 0.5e-6, 4e-6), decades(r, 0.02, 0.5), decades(r, 1e6, 10e6)
		return benchPart{may: []Family{AirCoil, Coil, CoreCoil}, value: henry, z: func(w float64) complex128 {
			return complex(ohm, 0) + complex(0, w*henry)/complex(1, w/(2*math.Pi*f0))
		}}
	}},
	{"shunt", func(r *rand.Rand) benchPart {
		ohm, henry := decades(r, 1e-3, 0.5), decades(r, 0.5e-9, 10e-9)
		return benchPart{may: []Family{Resistor}, value: ohm, z: func(w float64) complex128 { return complex(ohm, w*henry) }}
	}},
	{"worn electrolytic", func(r *rand.Rand) benchPart {
		farad := decades(r, 1e-6, 2.2e-3)
		sound := 0.2 * math.Pow(100e-6/farad, 0.7)
		ohm, now := sound*decades(r, 2, 20), farad*(0.4+0.5*r.Float64())
		pores := ohm * decades(r, 0.1, 0.5)
		return benchPart{may: []Family{Electrolytic}, z: func(w float64) complex128 {
			return complex(ohm, 15e-9*w) + pore(now, pores, w)
		}}
	}},
	{"choke", func(r *rand.Rand) benchPart {
		henry := decades(r, 100e-6, 1)
		ohm, farad := 2*math.Pi*decades(r, 10, 150)*henry, decades(r, 10e-12, 100e-12)
		loss, power := decades(r, 0.01, 0.08), 1+0.6*r.Float64() // tan δ at 10 kHz and how it rises
		return benchPart{may: []Family{CoreCoil}, value: henry, z: func(w float64) complex128 {
			core := core(henry, loss, power, w)
			return across(complex(ohm, 0)+core, capacitor(farad, w))
		}}
	}},
	{"film", func(r *rand.Rand) benchPart {
		farad, loss, ohm := decades(r, 1e-9, 10e-6), decades(r, 2e-4, 3e-3), decades(r, 0.003, 0.03)
		return benchPart{may: []Family{LowLoss}, value: farad, z: func(w float64) complex128 { return complex(ohm, 12e-9*w) + dielectric(farad, loss, w) }}
	}},
	{"ceramic", func(r *rand.Rand) benchPart {
		if r.IntN(3) == 0 {
			farad := decades(r, 220e-12, 22e-9)
			return benchPart{may: []Family{LowLoss}, value: farad, z: func(w float64) complex128 { return complex(0.05, 1e-9*w) + dielectric(farad, 2e-4, w) }}
		}
		farad, loss, ohm := decades(r, 1e-9, 22e-6), decades(r, 0.01, 0.035), decades(r, 0.003, 0.02)
		return benchPart{may: []Family{Class2}, value: farad, z: func(w float64) complex128 { return complex(ohm, 1e-9*w) + dielectric(farad, loss, w) }}
	}},
	{"resistor", func(r *rand.Rand) benchPart {
		ohm, henry, farad := decades(r, 1, 1e6), decades(r, 2e-9, 50e-9), decades(r, 0.1e-12, 0.6e-12)
		return benchPart{may: []Family{Resistor}, value: ohm, z: func(w float64) complex128 { return across(complex(ohm, w*henry), capacitor(farad, w)) }}
	}},
	{"transformer", func(r *rand.Rand) benchPart {
		p := draw[Transformer](r)
		return benchPart{may: []Family{Transformer, CoreCoil}, z: p.z}
	}},
	{"loudspeaker", func(r *rand.Rand) benchPart {
		p := draw[Loudspeaker](r)
		return benchPart{may: []Family{Loudspeaker}, z: p.z}
	}},
}

// core is an inductance with a loss that rises as a power of frequency, tan δ = loss at
// 10 kHz, and what of L the Kramers–Kronig relations then take: a constant-phase part.
func core(henry, loss, power, w float64) complex128 {
	// R = k·ω^(1+p) has its own reactance −R·cot(π(1+p)/2) from (jω)^(1+p).
	n := 1 + power
	w0 := 2 * math.Pi * 10e3
	k := loss * w0 * henry / math.Abs(math.Cos(math.Pi*n/2))
	return complex(0, w*henry) - complex(k, 0)*cmplx.Pow(complex(0, w/w0), complex(n, 0))
}

// benchRead reads a part as a calibrated jig does: 31 points, noise at each, and what all
// share of load, contact, leads and strays.
func benchRead(z func(w float64) complex128, r *rand.Rand, reference float64) *circuit.Data {
	const n = 31
	noise := decades(r, 1e-6, 1e-5)
	const load, contact, lead, stray = 5.8e-4, 0.5e-3, 3e-9, 0.05e-12
	a, b, c, d := load*r.NormFloat64(), contact*r.NormFloat64(), lead*r.NormFloat64(), stray*r.NormFloat64()
	out := &circuit.Data{}
	cov := mat.NewSymDense(2*n, nil)
	shared := [4][]float64{}
	for i := range n {
		f := 20 * math.Pow(1000, float64(i)/(n-1))
		w := 2 * math.Pi * f
		at := z(w)
		u := noise * (reference + cmplx.Abs(at)) * (1 + cmplx.Abs(at)/reference)
		side := -complex(0, w) * at * at // by farad of a stray
		out.FreqHz = append(out.FreqHz, f)
		out.Z = append(out.Z, at*complex(1+a, 0)+complex(b+u*r.NormFloat64(), w*c+u*r.NormFloat64())+side*complex(d, 0))
		cov.SetSym(2*i, 2*i, u*u)
		cov.SetSym(2*i+1, 2*i+1, u*u)
		for k, v := range []complex128{complex(load, 0) * at, complex(contact, 0), complex(0, lead*w), complex(stray, 0) * side} {
			shared[k] = append(shared[k], real(v), imag(v))
		}
	}
	for _, v := range shared {
		cov.SymRankOne(cov, 1, mat.NewVecDense(2*n, v))
	}
	out.Full = cov
	return out
}

var seeds = flag.Uint64("seeds", 0, "draw other parts")

var each = flag.Int("each", 30, "parts of each kind")

func TestBenchParts(t *testing.T) { identifyBench(t, 1) }

func TestSoakBenchParts(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	identifyBench(t, *each)
}

func identifyBench(t *testing.T, each int) {
	r := rand.New(rand.NewPCG(41+*seeds, 3))
	right, firmWrong, all, valued, held := 0, 0, 0, 0, 0
	for _, b := range benchParts {
		got := map[Family]int{}
		for range each {
			p := b.draw(r)
			reference := []float64{47, 100, 1e3}[r.IntN(3)]
			if mean := cmplx.Abs(p.z(2 * math.Pi * 1e3)); mean > 3e3 {
				reference = 10e3
			}
			d := benchRead(p.z, r, reference)
			id, err := Of(d)
			if err != nil {
				t.Errorf("%s: %v", b.kind, err)
				continue
			}
			all++
			got[id.Family]++
			about := fmt.Sprintf("%s of %.4g, |Z| %.3g at 20 Hz, %.3g∠%.3g° at 20 kHz", b.kind, p.value, cmplx.Abs(d.Z[0]), cmplx.Abs(d.Z[30]), 180/math.Pi*cmplx.Phase(d.Z[30]))
			if !slices.Contains(p.may, id.Family) {
				if id.Confidence == High {
					firmWrong++
				}
				t.Logf("WRONG %s is called %s, %s (%s): %q", about, id.Family, id.Confidence, id.Choice.Fits[0].Fitted(), id.Reasons)
			} else {
				right++
			}
			if p.value > 0 && !id.Value.IsAbsent() && slices.Contains(p.may, id.Family) {
				valued++
				if id.Value.Low <= p.value && p.value <= id.Value.High {
					held++
				} else {
					t.Logf("VALUE %s: %.5g to %.5g (%s)", about, id.Value.Low, id.Value.High, id.Choice.Fits[0].Fitted())
				}
			}
			if text := strings.Join(id.Reasons, " "); strings.Contains(text, "D is -") || strings.Contains(text, "D is −") || strings.Contains(text, "0.0000") {
				t.Errorf("%s: an absurd figure: %s", about, text)
			}
		}
		t.Logf("%-20s %v", b.kind, got)
	}
	t.Logf("%d of %d right, %d wrong with high confidence, %d of %d intervals contain the value", right, all, firmWrong, held, valued)
	if 20*right < 19*all || firmWrong > 1 {
		t.Errorf("%d of %d families are right, want 95 %%; %d wrong with high confidence, want at most 1", right, all, firmWrong)
	}
}
