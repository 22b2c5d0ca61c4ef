package drawnjig

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// nodes is a network by modified nodal analysis: node 0 is ground, unknowns are the
// voltages of the others and the current of one amplifier's output (C.-W. Ho, A. Ruehli,
// P. Brennan, IEEE Trans. Circuits and Systems 22 (1975) 504; from memory).
type nodes struct {
	a [][]complex128
	b []complex128
}

func newNodes(n int) *nodes {
	net := &nodes{a: make([][]complex128, n+2), b: make([]complex128, n+2)}
	for i := range net.a {
		net.a[i] = make([]complex128, n+2)
	}
	net.a[0][0], net.a[n+1][n+1] = 1, 1
	return net
}

func (n *nodes) put(from, to int, siemens complex128) {
	for _, p := range [][2]int{{from, to}, {to, from}} {
		if p[0] != 0 {
			n.a[p[0]][p[0]] += siemens
			if p[1] != 0 {
				n.a[p[0]][p[1]] -= siemens
			}
		}
	}
}

// amplify makes out = -gain·in.
func (n *nodes) amplify(in, out int, perGain complex128) {
	k := len(n.a) - 1
	n.a[out][k] = 1
	n.a[k][k], n.a[k][in], n.a[k][out] = 0, 1, perGain
}

// solve solves the complex equations as real ones of twice the size.
func (n *nodes) solve(t *testing.T) []complex128 {
	size := len(n.a)
	a, b := mat.NewDense(2*size, 2*size, nil), mat.NewVecDense(2*size, nil)
	for i, row := range n.a {
		b.SetVec(i, real(n.b[i]))
		b.SetVec(size+i, imag(n.b[i]))
		for k, v := range row {
			a.Set(i, k, real(v))
			a.Set(i, size+k, -imag(v))
			a.Set(size+i, k, imag(v))
			a.Set(size+i, size+k, real(v))
		}
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil && !strings.Contains(err.Error(), "ill-conditioned") {
		t.Fatal(err)
	}
	out := make([]complex128, size)
	for i := range out {
		out[i] = complex(x.AtVec(i), x.AtVec(size+i))
	}
	return out
}

// solved are the two inputs before gains and crosstalk. Nodes: 1 behind the source, 2
// between the two elements, 3 within the part's leads, 4 the amplifier's output.
func solved(t *testing.T, j *Jig, hz float64, y complex128) [2]complex128 {
	w := 2 * math.Pi * hz
	n := newNodes(4)
	n.put(1, 0, 1/j.source(w))
	n.b[1] = 1 / j.source(w)
	ref := complex(1/j.ReferenceOhm, w*j.ReferenceFarad)
	part := func(from, to int) {
		n.put(from, 3, 1/complex(j.LeadOhm, w*j.LeadHenry))
		n.put(3, to, y+complex(0, w*j.FixtureFarad))
	}
	var across map[string][2]int
	switch j.Circuit() {
	case PartToGround:
		n.put(1, 2, ref)
		part(2, 0)
		across = map[string][2]int{"total": {1, 0}, "part": {2, 0}}
	case ReferenceToGround:
		part(1, 2)
		n.put(2, 0, ref)
		across = map[string][2]int{"total": {1, 0}, "reference": {2, 0}}
	case Differences:
		across = map[string][2]int{"part": {1, 2}, "reference": {2, 0}}
		if j.Ground == GroundAtPart {
			across = map[string][2]int{"reference": {1, 2}, "part": {2, 0}}
		}
		part(across["part"][0], across["part"][1])
		n.put(across["reference"][0], across["reference"][1], ref)
	case VirtualGround:
		part(1, 2)
		n.put(2, 4, ref)
		n.amplify(2, 4, complex(0, hz/j.GainBandwidthHz))
		across = map[string][2]int{"part": {1, 0}, "reference": {0, 4}}
	}
	if j.Circuit() != VirtualGround {
		n.a[4][4] = 1
	}
	for i, c := range j.Channels {
		ends := across[strings.TrimPrefix(c, "-")]
		load := complex(1/j.InputOhm[i], w*j.InputFarad[i])
		switch {
		case j.Circuit() == VirtualGround && ends[0] == 0: // an amplifier's output feels no load
		case j.Circuit() == Differences && j.Ground != Floating:
			n.put(ends[0], 0, load)
			n.put(ends[1], 0, load)
		default:
			n.put(ends[0], ends[1], load)
		}
	}
	v := n.solve(t)
	v[0] = 0
	var out [2]complex128
	for i, c := range j.Channels {
		name, minus := strings.CutPrefix(c, "-")
		if out[i] = v[across[name][0]] - v[across[name][1]]; minus {
			out[i] = -out[i]
		}
	}
	return out
}

func TestTransferIsThatOfTheNetwork(t *testing.T) {
	const tolerance = 1e-7 // of equations whose admittances lie ten decades apart, leads of next to nothing among them
	for k, channels := range Wirings() {
		t.Run(fmt.Sprint(channels), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(uint64(k), 1))
			for range 30 {
				j := Draw(rng, DrawConfig(rng, channels))
				j.Gain, j.DelaySamples, j.Cross, j.FullScale = 1, 0, [2]complex128{}, [2]float64{}
				hz := Between(rng, 20, 20e3)
				p := DrawPart(rng, Kind(rng.IntN(3)), j.NominalOhm*Between(rng, 0.01, 100), hz)
				got, want := j.Transfer(hz, p.Siemens(hz), Insertion{}), solved(t, j, hz, p.Siemens(hz))
				for i := range got {
					if cmplx.Abs(got[i]-want[i]) > tolerance*cmplx.Abs(want[i]) {
						t.Fatalf("ground %d, %v at %.4g Hz: input %d gets %.12g, the network says %.12g", j.Ground, p, hz, i+1, got[i], want[i])
					}
				}
			}
		})
	}
}

// An open and a short are ordinary connections, also without any lead.
func TestOpenAndShortAreFinite(t *testing.T) {
	for k, channels := range Wirings() {
		rng := rand.New(rand.NewPCG(uint64(k), 2))
		j := Draw(rng, Usual(channels, 1000))
		j.LeadOhm, j.LeadHenry, j.ShortOhm, j.ShortHenry = 0, 0, 0, 0
		for _, role := range []string{RoleOpen, RoleShort} {
			for i, z := range j.Transfer(1000, j.Standard(role, Load{})(1000), Insertion{}) {
				if cmplx.IsNaN(z) || cmplx.IsInf(z) {
					t.Errorf("%v, %s: input %d gets %v", channels, role, i+1, z)
				}
			}
		}
	}
}

func TestSameSeedSameRecordings(t *testing.T) {
	make := func() []Phasors {
		rng := rand.New(rand.NewPCG(7, 3))
		j := Draw(rng, DrawConfig(rng, [2]string{"total", "part"}))
		j.RecordStandard(RoleLoad, Load{1000, 1e-3}, 1000)
		return j.RecordPart(DrawPart(rng, Capacitor, 500, 1000), 100, 1000).Tones
	}
	if a, b := make(), make(); fmt.Sprint(a) != fmt.Sprint(b) {
		t.Errorf("two draws of one seed differ: %v and %v", a, b)
	}
}

// What a recording claims of its noise is what it has: the mean of |error|²/claimed is 1.
func TestNoiseIsAsClaimed(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	j := Draw(rng, Usual([2]string{"total", "part"}, 1000))
	j.DriftU, j.ContactU, j.StrayU = 0, 0, 0
	j.Noise.Shared = 1e-4
	p := Part{Kind: Resistor, Ohm: 700}
	clean := j.Transfer(j.TrueHz(1000), p.Siemens(j.TrueHz(1000)), Insertion{})
	const n = 4000
	var chi [2]float64
	var cross, claimed complex128
	for range n {
		tone := j.RecordPart(p, 1000).Tones[0]
		var off [2]complex128
		for i := range off {
			off[i] = tone.V[i] - clean[i]*complex(j.Noise.Peak, 0)
			chi[i] += (real(off[i])*real(off[i]) + imag(off[i])*imag(off[i])) / (2 * tone.Cov[2*i][2*i]) / n
		}
		cross += off[0] * cmplx.Conj(off[1]) / n
		claimed += 2 * complex(tone.Cov[0][2], tone.Cov[1][2]) / n
	}
	for i := range chi {
		// The mean of F with 32 degrees below is 32/30; a mean of 4000 scatters by 1.8 %.
		if math.Abs(chi[i]*30/32-1) > 0.08 {
			t.Errorf("input %d: errors are %.3f times the variance claimed", i+1, chi[i]*30/32)
		}
	}
	if cmplx.Abs(cross-claimed) > 0.08*cmplx.Abs(claimed) {
		t.Errorf("the inputs share %.4g, %.4g is claimed", cross, claimed)
	}
}
