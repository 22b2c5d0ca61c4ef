package record

import (
	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
	"math"
)

// humFit says which mains the record shows.
type humFit struct {
	present bool
	baseHz  float64 // 50 or 60
	mainsHz float64 // fundamental as found, to start the joint fit from
	ratio   map[int]float64
}

// How far the mains may be from their name, how far up their multiples are looked
// for, and what rises above the noise: 15 times the mean power of a bin is passed
// by one clean record in 10⁴ (nine orders, two channels).
const (
	mainsReachHz = 0.35
	humOrders    = 10
	humOrdersMax = 40
	humOver      = 15
	humFaintest  = 1e-8 // of the peak of the record
)

// seekHum looks for mains lines in a residual from which the tones are gone. Lines
// within a bin of an avoided frequency are passed over.
func seekHum(residual [][]float64, rateHz float64, candidates, avoidHz []float64, peak float64) humFit {
	best := humFit{}
	bestScore := 0.0
	for _, base := range candidates {
		h := seekBase(residual, rateHz, base, avoidHz, peak)
		score := 0.0
		for _, r := range h.ratio {
			score += math.Log1p(r)
		}
		if h.present && score > bestScore {
			best, bestScore = h, score
		}
	}
	return best
}

// comb holds block sums of the residual at the nominal multiples of the mains: all
// that a search over the exact frequency needs.
type comb struct {
	order  []int
	noise  []float64        // power that noise alone has there
	sums   [][][]complex128 // [order][channel][block]
	firstS float64          // time of the middle of the first block
	blockS float64
	rateHz float64
}

func seekBase(residual [][]float64, rateHz, base float64, avoidHz []float64, peak float64) humFit {
	seconds := float64(len(residual[0])) / rateHz
	c := newComb(residual, rateHz, base, avoidHz)
	c.deafTo(humFaintest * peak)
	h := humFit{baseHz: base, mainsHz: base, ratio: map[int]float64{}}
	step := 0.25 / (seconds * humOrders)
	bestScore := math.Inf(-1)
	for d := -mainsReachHz; d <= mainsReachHz; d += step {
		if s := c.score(d) - num.Sq(d/joint.UsualMainsHz)/2; s > bestScore {
			bestScore, h.mainsHz = s, base+d
		}
	}
	for i, order := range c.order {
		r := c.ratio(i, h.mainsHz-base)
		h.ratio[order] = r
		h.present = h.present || r > humOver
	}
	return h
}

func newComb(residual [][]float64, rateHz, base float64, avoidHz []float64) *comb {
	n := len(residual[0])
	block := max(1, int(rateHz/250))
	stepHz := rateHz / float64(n)
	c := &comb{firstS: float64(block-n) / 2 / rateHz, blockS: float64(block) / rateHz, rateHz: rateHz}
	for order := 1; order <= humOrders; order++ {
		hz := base * float64(order)
		if hz > 0.45*rateHz || near(hz, avoidHz, 1.5*stepHz+mainsReachHz*float64(order)) {
			continue
		}
		c.order = append(c.order, order)
		c.sums = append(c.sums, blockSums(residual, rateHz, hz, block))
		c.noise = append(c.noise, c.floor(len(c.order)-1, stepHz))
	}
	return c
}

// deafTo keeps lines below an amplitude from counting: in a record without noise the
// rounding of the fit itself would.
func (c *comb) deafTo(amplitude float64) {
	n := 0.0
	if len(c.sums) > 0 {
		n = c.blockS * float64(len(c.sums[0][0])) * c.rateHz
	}
	for i := range c.noise {
		c.noise[i] = math.Max(c.noise[i], num.Sq(amplitude*n/2)/humOver)
	}
}

// floor returns the noise at line i: the median of the power at whole steps beside it,
// far enough for the line itself, near enough not to meet the next.
func (c *comb) floor(i int, stepHz float64) float64 {
	var p []float64
	for k := 3; k <= 10; k++ {
		d := float64(k) * stepHz
		p = append(p, c.power(i, d), c.power(i, -d))
	}
	return num.Median(p) / 0.75 // as bins.floor
}

// blockSums demodulates every channel at hz in blocks; phase counts from the middle.
func blockSums(x [][]float64, rateHz, hz float64, block int) [][]complex128 {
	table := turnTable(hz/rateHz, block)
	out := make([][]complex128, len(x))
	for ch := range x {
		middle := float64(len(x[ch])-1) / 2
		for at := 0; at < len(x[ch]); at += block {
			turns := hz / rateHz * (float64(at) - middle)
			s, c := math.Sincos(2 * math.Pi * (turns - math.Round(turns)))
			out[ch] = append(out[ch], projectLine(x[ch][at:min(at+block, len(x[ch]))], table)*complex(c, -s))
		}
	}
	return out
}

// projectLine returns Σ x exp(-jωk) over a block.
func projectLine(x []float64, table [2][]float64) complex128 {
	c, s := table[0][:len(x)], table[1][:len(x)]
	var re, im float64
	for k, v := range x {
		re += v * c[k]
		im -= v * s[k]
	}
	return complex(re, im)
}

// turnTable holds cosine and sine of 0 … n-1 steps of a number of turns each.
func turnTable(turns float64, n int) [2][]float64 {
	t := [2][]float64{make([]float64, n), make([]float64, n)}
	for k := range t[0] {
		t[1][k], t[0][k] = math.Sincos(2 * math.Pi * turns * float64(k))
	}
	return t
}

// power returns the power of line i at hz above its nominal frequency, over the channels.
func (c *comb) power(i int, hz float64) float64 {
	p := 0.0
	s, co := math.Sincos(-2 * math.Pi * hz * c.blockS)
	turn := complex(co, s)
	s, co = math.Sincos(-2 * math.Pi * hz * c.firstS)
	start := complex(co, s)
	for _, sums := range c.sums[i] {
		var acc complex128
		ph := start
		for _, v := range sums {
			acc += v * ph
			ph *= turn
		}
		p += num.SqAbs(acc)
	}
	return p
}

// ratio returns the power of line i over the noise, for mains offsetHz from nominal.
func (c *comb) ratio(i int, offsetHz float64) float64 {
	p := c.power(i, float64(c.order[i])*offsetHz)
	if c.noise[i] == 0 {
		if p == 0 {
			return 0
		}
		return 1e12
	}
	return p / c.noise[i]
}

// score sums the lines' ratios: the logarithm of the likelihood of that frequency.
func (c *comb) score(offsetHz float64) float64 {
	s := 0.0
	for i := range c.order {
		s += c.ratio(i, offsetHz)
	}
	return s
}

func near(hz float64, list []float64, reach float64) bool {
	for _, v := range list {
		if math.Abs(v-hz) < reach {
			return true
		}
	}
	return false
}
