package lockin

import "math"

// humFit says which mains the record shows.
type humFit struct {
	present bool
	baseHz  float64 // 50 or 60
	mainsHz float64 // fundamental as found, to start the joint fit from
	ratio   map[int]float64
	chirp   bool // strong enough for the drift of the mains to matter
}

// How far the mains may be from their name, how far up their multiples are looked
// for, and what rises above the noise: 15 times the mean power of a bin is passed
// by one clean record in 10⁴ (nine orders, two channels).
const (
	mainsReachHz  = 0.35
	mainsSpreadHz = 0.1 // what is usual; decides where a short record does not
	humOrders     = 10
	humOrdersMax  = 40
	humOver       = 15
)

// seekHum looks for mains lines in a residual from which the tones are gone. Lines
// within a bin of an avoided frequency are passed over.
func seekHum(residual [][]float64, rateHz float64, candidates, avoidHz []float64) humFit {
	best := humFit{}
	bestScore := 0.0
	spec := newBins(residual, rateHz, false)
	for _, base := range candidates {
		h := seekBase(residual, spec, rateHz, base, avoidHz)
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
	order []int
	noise []float64        // expected power of a bin there
	sums  [][][]complex128 // [order][channel][block]
	timeS []float64
	scale float64
}

func seekBase(residual [][]float64, spec bins, rateHz, base float64, avoidHz []float64) humFit {
	seconds := float64(len(residual[0])) / rateHz
	c := newComb(residual, spec, rateHz, base, avoidHz)
	h := humFit{baseHz: base, mainsHz: base, ratio: map[int]float64{}}
	step := 0.25 / (seconds * humOrders)
	bestScore := math.Inf(-1)
	for d := -mainsReachHz; d <= mainsReachHz; d += step {
		if s := c.score(d) - sq(d/mainsSpreadHz)/2; s > bestScore {
			bestScore, h.mainsHz = s, base+d
		}
	}
	for i, order := range c.order {
		r := c.ratio(i, h.mainsHz-base)
		h.ratio[order] = r
		h.present = h.present || r > humOver
		if 3/(float64(order)*math.Sqrt(r)*seconds*seconds) < 0.05 {
			h.chirp = true
		}
	}
	return h
}

func newComb(residual [][]float64, spec bins, rateHz, base float64, avoidHz []float64) *comb {
	n := len(residual[0])
	block := max(1, int(rateHz/250))
	c := &comb{scale: 2 / float64(n)}
	for at := 0; at < n; at += block {
		c.timeS = append(c.timeS, (float64(min(at+block, n)+at-1)/2-float64(n-1)/2)/rateHz)
	}
	for order := 1; order <= humOrders; order++ {
		hz := base * float64(order)
		if hz > 0.45*rateHz || near(hz, avoidHz, 1.5*spec.stepHz+mainsReachHz*float64(order)) {
			continue
		}
		noise := spec.floor(math.Max(hz-20*spec.stepHz, 2*spec.stepHz), hz+20*spec.stepHz)
		c.order = append(c.order, order)
		c.noise = append(c.noise, noise)
		c.sums = append(c.sums, blockSums(residual, rateHz, hz, block))
	}
	return c
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

// turnTable holds cosine and sine of 0 … n-1 steps of a number of turns each.
func turnTable(turns float64, n int) [2][]float64 {
	t := [2][]float64{make([]float64, n), make([]float64, n)}
	for k := range t[0] {
		t[1][k], t[0][k] = math.Sincos(2 * math.Pi * turns * float64(k))
	}
	return t
}

// ratio returns the power of line i at an offset of the fundamental over the noise.
func (c *comb) ratio(i int, offsetHz float64) float64 {
	p := 0.0
	for _, sums := range c.sums[i] {
		var acc complex128
		for b, v := range sums {
			s, co := math.Sincos(-2 * math.Pi * float64(c.order[i]) * offsetHz * c.timeS[b])
			acc += v * complex(co, s)
		}
		p += sqAbs(acc)
	}
	if c.noise[i] == 0 {
		if p == 0 {
			return 0
		}
		return 1e12
	}
	return p * c.scale * c.scale / c.noise[i]
}

// score sums the lines' ratios, each on a logarithmic scale so that a comb of many
// weak lines counts like one of a few strong ones.
func (c *comb) score(offsetHz float64) float64 {
	s := 0.0
	for i := range c.order {
		s += math.Log1p(c.ratio(i, offsetHz))
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
