package circuit

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"sort"
)

// Starting values. Every element matters somewhere: there its impedance is about that
// of the whole. So a guess gives each element the impedance of the sweep at a point
// of its own, within a factor; many guesses are cheap to judge, the best are followed
// downhill, first by the logarithms of impedances and then by the real weights.

// guesses per round, those followed of them, and the points that judge a guess.
const (
	guesses  = 200
	followed = 5
	judges   = 14
)

type guesser struct {
	t      *target
	random *rand.Rand
	judges []int
	pool   []guess

	residuals []float64
}

type guess struct {
	x    []float64
	cost float64
}

func newGuesser(t *target, seed uint64) *guesser {
	g := &guesser{t: t, random: rand.New(rand.NewPCG(seed, 0x5eed)), residuals: make([]float64, 2*len(t.w))}
	n := len(t.w)
	for i := range min(n, judges) {
		g.judges = append(g.judges, i*(n-1)/max(min(n, judges)-1, 1))
	}
	return g
}

// round returns the best of a fresh set of guesses.
func (g *guesser) round() []guess {
	g.pool = g.pool[:0]
	for range guesses {
		x := g.draw()
		g.pool = append(g.pool, guess{x, g.cost(x)})
	}
	sort.SliceStable(g.pool, func(i, j int) bool { return g.pool[i].cost < g.pool[j].cost })
	return append([]guess(nil), g.pool[:followed]...)
}

// draw makes a guess.
func (g *guesser) draw() []float64 {
	t := g.t
	x := make([]float64, len(t.c.unknowns))
	var n float64 // exponent of the element at hand; it follows its first value
	for i, u := range t.c.unknowns {
		if i+1 < len(x) && t.c.unknowns[i+1].scale == exponent {
			n = 1 - 0.7*g.random.Float64()*g.random.Float64()
		}
		at := g.random.IntN(len(t.w))
		w, z := t.w[at], cmplx.Abs(t.data.Z[at])*math.Exp(1.2*g.random.NormFloat64())
		v := at1(u, w, z, n)
		if u.scale == positive {
			v = math.Log(v)
		}
		x[i] = max(t.low[i], min(t.high[i], v))
	}
	return x
}

// some lists about half of the unknowns, at least one.
func (g *guesser) some(unknowns int) []int {
	list := []int{g.random.IntN(unknowns)}
	for i := range unknowns {
		if i != list[0] && g.random.IntN(2) == 0 {
			list = append(list, i)
		}
	}
	return list
}

// feature is a guess for something small: all elements of it have about the same
// impedance at one point, above or below that of the whole by up to four decades.
func (g *guesser) feature() []float64 {
	t := g.t
	x := make([]float64, len(t.c.unknowns))
	at := g.random.IntN(len(t.w))
	w := t.w[at] * math.Exp(0.3*g.random.NormFloat64())
	z := cmplx.Abs(t.data.Z[at]) * math.Pow(10, 8*g.random.Float64()-4)
	n := 1 - 0.7*g.random.Float64()*g.random.Float64()
	for i, u := range t.c.unknowns {
		v := at1(u, w, z*math.Exp(0.7*g.random.NormFloat64()), n)
		if u.scale == positive {
			v = math.Log(v)
		}
		x[i] = max(t.low[i], min(t.high[i], v))
	}
	return x
}

// at1 returns the value with which an element has the impedance z at w.
func at1(u Unknown, w, z, n float64) float64 {
	switch {
	case u.scale == exponent:
		return n
	case u.element == 'C' || u.element == 'T' && u.Unit == "F":
		return 1 / (w * z)
	case u.element == 'L' || u.Unit == "H":
		return z / w
	case u.Unit == "Hz":
		return w / (2 * math.Pi)
	case u.element == 'Q':
		return 1 / (math.Pow(w, n) * z)
	case u.element == 'K':
		return z / math.Pow(w, n)
	case u.element == 'W':
		return z * math.Sqrt(w)
	}
	return z
}

// cost is the sum of squared logarithms, with a limit on what one point can say.
func (g *guesser) cost(x []float64) float64 {
	t := g.t
	t.valuesOf(t.values, x)
	var sum float64
	for _, i := range g.judges {
		l := logRatio(t.c.root.z(t.w[i], t.values, nil), t.data.Z[i])
		sum += min(real(l)*real(l)+imag(l)*imag(l), 16)
	}
	return sum
}
