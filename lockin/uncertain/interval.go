package uncertain

import "math"

// Interval returns the interval about output i that holds it with probability
// p, as many chances below as above.
//
// Where the contributions are normal, or enough of them add up to look so, it is
// y ± t_p(ν_eff)·u (JCGM 100:2008, G.4 and G.5). Where a rectangular, triangular,
// arcsine or log-uniform contribution is not small, it comes from the
// distribution of the sum: of one Student variable for all that is normal, with
// the effective degrees of freedom of that part, and each of the others. The
// model is taken as linear. Welch and Satterthwaite's formula is an approximation:
// where a known normal contribution stands beside one of very few degrees of
// freedom, MonteCarlo gives a wider interval. NaN where the output or its
// uncertainty does not exist, or p is not between 0 and 1.
func (r *Result) Interval(i int, p float64) (low, high float64) {
	if !r.has(i) {
		return math.NaN(), math.NaN()
	}
	y, u := r.Y[i], r.U(i)
	if !(p > 0 && p < 1) || !finite(y) || !finite(u) {
		return math.NaN(), math.NaN()
	}
	if u == 0 {
		return y, y
	}
	s := r.spread(i)
	if len(s.pieces) == 0 {
		half := CoverageFactor(p, s.dof) * u
		return y - half, y + half
	}
	sum := newConvolution(s)
	if s.symmetric() {
		half := sum.quantile((1+p)/2) * u
		return y - half, y + half
	}
	return y + sum.quantile((1-p)/2)*u, y + sum.quantile((1+p)/2)*u
}

// spread is the distribution of an output about its value, in units of its
// standard uncertainty: the sum of a scaled Student variable and bounded pieces.
type spread struct {
	u, dof float64
	pieces []piece
}

// piece is a bounded, not normal contribution of mean zero.
type piece struct {
	low, high float64 // its support
	u         float64
	box       bool                    // rectangular
	area      func(x float64) float64 // integral of its distribution function up to x in the support
}

// A piece below smallPiece of the whole u counts as normal: its own width is then
// less than the 2.5 % that a 95 % interval leaves at each end of a rectangle.
const smallPiece = 0.01

// littleKurtosis: when the excess kurtosis that the pieces give the whole is
// smaller, everything counts as normal; by the Cornish–Fisher expansion
// κ/24·(k³−3k) the 95 % factor then moves by less than 1 part in 20000. With few
// degrees of freedom it does not hold: the Welch–Satterthwaite formula would
// shorten the long tails of t by more than a small piece can.
const (
	littleKurtosis = 1e-3
	manyDof        = 50
)

// spread collects the contributions to output i.
func (r *Result) spread(i int) spread {
	var s spread
	variance, weak, kurtosis := 0.0, 0.0, 0.0
	total := r.U(i)
	for k := range r.groups {
		g := &r.groups[k]
		v := r.variance(i, g) / total / total
		pieces := g.pieces(r.Sens.At(i, g.first) / total)
		if len(pieces) == 0 || math.Sqrt(v) < smallPiece {
			variance += v
			weak += v * v / g.dof
			continue
		}
		s.pieces = append(s.pieces, pieces...)
		for _, p := range pieces {
			kurtosis += 1.5 * math.Pow(p.u, 4)
		}
	}
	s.u, s.dof = math.Sqrt(variance), effectiveDof(variance, weak)
	if s.symmetric() && kurtosis < littleKurtosis && s.dof > manyDof {
		s.pieces, s.u, s.dof = nil, 1, effectiveDof(1, weak)
	}
	return s
}

func (s *spread) symmetric() bool {
	for _, p := range s.pieces {
		if p.low != -p.high {
			return false
		}
	}
	return true
}

// pieces returns the bounded contributions of a group seen with sensitivity c;
// none for a normal one.
func (g *group) pieces(c float64) []piece {
	if g.n != 1 || g.rank == 0 || g.shape == Normal || c == 0 {
		return nil
	}
	if wide, narrow, ok := g.boxes(); ok {
		pieces := []piece{boxPiece(math.Abs(c) * wide)}
		if narrow > 0 {
			pieces = append(pieces, boxPiece(math.Abs(c)*narrow))
		}
		return pieces
	}
	if g.shape == Arcsine {
		return []piece{arcsinePiece(math.Abs(c) * Arcsine.halfWidth(g.u()))}
	}
	return []piece{logUniformPiece(g, c)}
}

func boxPiece(half float64) piece {
	return piece{low: -half, high: half, u: Rectangular.U(half), box: true, area: func(x float64) float64 {
		return (x + half) * (x + half) / (4 * half)
	}}
}

// arcsinePiece: F(x) = 1/2 + asin(x/a)/π.
func arcsinePiece(half float64) piece {
	return piece{low: -half, high: half, u: Arcsine.U(half), area: func(x float64) float64 {
		return x/2 + (x*math.Asin(x/half)+math.Sqrt((half-x)*(half+x)))/math.Pi
	}}
}

// logUniformPiece: F(X) = ln(X/a)/ln(b/a), seen about its mean and scaled by c. A
// negative c turns it round: the integral of 1 − F then runs down from the top.
func logUniformPiece(g *group, c float64) piece {
	mean, u := logUniformMoments(g.low, g.high)
	ratio := logRatio(g.low, g.high)
	below := func(x float64) float64 { return (x*logRatio(g.low, x) - (x - g.low)) / ratio }
	p := piece{low: c * (g.low - mean), high: c * (g.high - mean), u: math.Abs(c) * u}
	p.area = func(x float64) float64 { return c * below(mean+x/c) }
	if c < 0 {
		p.low, p.high = p.high, p.low
		p.area = func(x float64) float64 {
			top := mean + x/c
			return -c * ((g.high - top) - (g.high - mean - below(top)))
		}
	}
	return p
}
