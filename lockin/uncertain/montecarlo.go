package uncertain

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// MonteCarlo draws the inputs trials times, puts every draw through f and keeps
// all outputs. The same inputs, trials and seed give the same Sample.
//
// An input with finite degrees of freedom is drawn from Student's t, scaled by
// its u; a jointly normal block from the multivariate t, one chi-square draw for
// the whole block. Its standard deviation is therefore u·√(ν/(ν−2)), larger than
// the u of Propagate, and infinite for ν ≤ 2, where intervals still hold.
//
// Errors: inputs that Inputs.Err complains of, fewer than one output, f nil,
// fewer than 2 trials, more than 2²⁷ numbers in all. Reference: JCGM 101:2008, 6.4 and 7.
func MonteCarlo(in *Inputs, outputs int, f Func, trials int, seed uint64) (*Sample, error) {
	if err := checkModel(in, outputs, f); err != nil {
		return nil, err
	}
	if trials < 2 || trials > maxDrawn/outputs {
		return nil, fmt.Errorf("uncertain: %w: %d trials of %d outputs: draw 2 at least, better 10000, and no more than %d numbers in all", ErrOutputs, trials, outputs, maxDrawn)
	}
	s := newSample(outputs, trials)
	d := newDrawer(in, seed)
	x, y := make([]float64, len(in.values)), make([]float64, outputs)
	for t := range trials {
		d.draw(x)
		f(y, x)
		for i, v := range y {
			s.columns[i][t] = v
		}
	}
	return s, nil
}

// drawer draws all inputs of a trial.
type drawer struct {
	values []float64
	groups []group
	rng    *rand.Rand
	z      []float64 // scratch: the independent variables of one block
}

// stream tells this generator apart from others that are given the same seed.
const stream = 0x756e636572746169

func newDrawer(in *Inputs, seed uint64) *drawer {
	return &drawer{values: in.values, groups: in.groups, rng: rand.New(rand.NewPCG(seed, stream)), z: make([]float64, len(in.values))}
}

func (d *drawer) draw(x []float64) {
	copy(x, d.values)
	for k := range d.groups {
		g := &d.groups[k]
		switch {
		case g.rank == 0:
		case g.n == 1 && g.shape != Normal:
			d.drawBounded(&x[g.first], g)
		case g.n == 1:
			x[g.first] += g.factor[0] * d.rng.NormFloat64() * d.student(g.dof)
		default:
			d.drawJoint(x[g.first:g.first+g.n], g)
		}
	}
}

func (d *drawer) drawJoint(x []float64, g *group) {
	scale := d.student(g.dof)
	z := d.z[:g.rank]
	for m := range z {
		z[m] = scale * d.rng.NormFloat64()
	}
	for k := range x {
		x[k] += dot(g.factor[k*g.rank:(k+1)*g.rank], z)
	}
}

func (d *drawer) drawBounded(x *float64, g *group) {
	switch g.shape {
	case Arcsine:
		*x += Arcsine.halfWidth(g.factor[0]) * math.Cos(math.Pi*d.rng.Float64())
	case logUniform:
		*x = math.Exp(math.Log(g.low) + d.rng.Float64()*logRatio(g.low, g.high))
	default:
		wide, narrow, _ := g.boxes()
		*x += wide * (2*d.rng.Float64() - 1)
		if narrow > 0 {
			*x += narrow * (2*d.rng.Float64() - 1)
		}
	}
}

// student returns the factor √(ν/χ²_ν) that makes a normal draw one of
// Student's t; 1 where u is known.
func (d *drawer) student(dof float64) float64 {
	if dof > knownDof {
		return 1
	}
	return math.Sqrt(dof / (2 * gamma(d.rng, dof/2)))
}

// gamma draws from the gamma distribution of the given shape and unit scale by
// rejection; the squeeze saves most logarithms. Reference: G. Marsaglia and W. W.
// Tsang, A simple method for generating gamma variables, ACM Trans. Math. Softw. 26
// (2000) 363.
func gamma(rng *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gamma(rng, shape+1) * math.Pow(1-rng.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := rng.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v *= v * v
		u := 1 - rng.Float64()
		if u < 1-0.0331*x*x*x*x || math.Log(u) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
