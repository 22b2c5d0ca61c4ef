package batch

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/parts"
)

// chance that an honest normal run has any outlier by the test of extremes.
const chance = 0.001

// leastInside is how many parts within limits it takes to say what the run is.
const leastInside = 5

// Rule is why a part does not belong to its run.
type Rule string

// The rules.
const (
	Unread  Rule = "unread"                               // it has no value
	Far     Rule = "far from the others"                  // by the test of extremes
	Foreign Rule = "failed, and not the tail of the rest" // beyond the limits, and not the tail of the rest
)

// belonging parts a run into those that are of one production and those that are not:
// unread, far from the others, or beyond the limits of the tolerance without being the
// tail of the rest. All are indices, rising; rules has the reason for each outlier.
//
// A part that fails is foreign to most runs, but not to one whose honest spread reaches
// beyond the limits: leaving its tails out would make the spread too small. So the
// likelihoods are compared, where there are enough inside to do so; of fewer, the failed
// ones are foreign unless they are the most. Limits that are none decide nothing.
func belonging(list []Measured, limits parts.Limits) (kept, outliers []int, rules []Rule) {
	why := make([]Rule, len(list))
	for i, p := range list {
		why[i] = Unread
		if !math.IsNaN(p.Value) && !math.IsInf(p.Value, 0) {
			kept = append(kept, i)
			why[i] = Foreign
		}
	}
	told := func(far []int) {
		for _, i := range far {
			why[i] = Far
		}
	}
	var far []int
	kept, far = extremes(list, kept)
	told(far)
	var inside, beyond []int
	for _, i := range kept {
		if limits.Contain(list[i].Value) {
			inside = append(inside, i)
		} else {
			beyond = append(beyond, i)
		}
	}
	switch {
	case !limits.Valid() || len(beyond) == 0:
	case len(inside) >= leastInside:
		kept = without(kept, foreign(list, inside, beyond, limits))
		kept, far = extremes(list, kept)
		told(far)
	case len(inside) >= len(beyond):
		kept = inside
	}
	for i := range list {
		if _, ok := slices.BinarySearch(kept, i); !ok {
			outliers = append(outliers, i)
			rules = append(rules, why[i])
		}
	}
	return kept, outliers, rules
}

// foreign are those parts beyond the limits that do not belong to the ones inside: the
// farthest k of them, with the k that makes the run likeliest.
func foreign(list []Measured, inside, beyond []int, limits parts.Limits) []int {
	middle, _ := plainMoments(pick(list, inside))
	slices.SortFunc(beyond, func(a, b int) int {
		da, db := math.Abs(list[a].Value-middle), math.Abs(list[b].Value-middle)
		switch {
		case da > db:
			return -1
		case da < db:
			return 1
		}
		return 0
	})
	// Farther ones have been told by the test of extremes.
	reach := 5 * (limits.High - limits.Low)
	if math.IsInf(reach, 0) {
		reach = 2 * math.Abs(middle)
	}
	best, most := 0, math.Inf(-1)
	for k := range len(beyond) + 1 {
		body := pick(list, append(slices.Clone(inside), beyond[k:]...))
		l := production(body, limits, k == len(beyond)) + mixture(len(body), k, reach)
		if l > most {
			best, most = k, l
		}
	}
	return beyond[:best]
}

// mixture is the log-likelihood of k foreign parts beside n, each of them anywhere on a
// stretch of the length reach.
func mixture(n, k int, reach float64) float64 {
	if k == 0 {
		return 0
	}
	share := float64(k) / float64(n+k)
	return float64(n)*math.Log(1-share) + float64(k)*math.Log(share/reach)
}

// production is the log-likelihood of parts of a normal production. One of which all
// lie within limits may have been sorted by its maker: then it is cut off there, and
// wider ones come into question, up to one that fills the limits evenly.
func production(body []Measured, limits parts.Limits, sorted bool) float64 {
	mean, sd := plainMoments(body)
	sd = math.Max(sd, 1e-12*math.Abs(mean))
	widths := []float64{1}
	if sorted {
		widths = []float64{1, 1.1, 1.25, 1.5, 2, 4, 10}
	}
	best := math.Inf(-1)
	for _, wide := range widths {
		n := distuv.Normal{Mu: mean, Sigma: wide * sd}
		l := 0.0
		for _, p := range body {
			l += n.LogProb(p.Value)
		}
		if sorted {
			l -= float64(len(body)) * math.Log(within(n, limits))
		}
		best = math.Max(best, l)
	}
	return best
}

// within is the share of a production that lies within limits.
func within(n distuv.Normal, l parts.Limits) float64 {
	return parts.ConformanceProbability(parts.Normal{Value: n.Mu, U: n.Sigma}, l)
}

// extremes parts outliers from the rest, at most a fifth of the run: the part farthest
// from the mean is taken out again and again, and the last that is farther than
// normal parts are is an outlier with all those before it, so that none hides behind
// another.
//
// Source: Rosner, Technometrics 25 (1983) 165, the generalized extreme Studentized
// deviate (from memory).
func extremes(list []Measured, left []int) (rest, far []int) {
	order := slices.Clone(left)
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(list[a].Value, list[b].Value) })
	m := scatterOf(list, order)
	n, outliers := len(left), 0
	var taken []int
	for i := 1; i <= n/5; i++ {
		mean, sd := m.mean(), m.sd()
		below, above := (mean-list[order[0]].Value)/sd, (list[order[len(order)-1]].Value-mean)/sd
		r := math.Max(below, above)
		if !(r > 0) {
			break // all are alike
		}
		size := float64(n - i + 1)
		t := distuv.StudentsT{Sigma: 1, Nu: size - 2}.Quantile(1 - chance/(2*size))
		limit := (size - 1) * t / math.Sqrt((size-2+t*t)*size)
		out := order[len(order)-1]
		if below >= above {
			out, order = order[0], order[1:]
		} else {
			order = order[:len(order)-1]
		}
		taken = append(taken, out)
		m.without(list, out, order)
		if r > limit {
			outliers = i
		}
	}
	far = taken[:outliers]
	return without(left, far), far
}

// scatter is made of sums about a fixed point, from which parts are taken one by one, so that
// a run of thousands takes no time. They are summed anew where what is left has become
// small beside the last sum: rounding stays below 1e-9 of the variance.
type scatter struct {
	n, about, sum, squares float64
	began                  float64 // squares when they were summed
}

func scatterOf(list []Measured, of []int) scatter {
	m := scatter{n: float64(len(of))}
	for _, i := range of {
		m.about += list[i].Value / m.n
	}
	for _, i := range of {
		d := list[i].Value - m.about
		m.sum += d
		m.squares += d * d
	}
	m.began = m.squares
	return m
}

// without takes a part out; left are the others.
func (m *scatter) without(list []Measured, out int, left []int) {
	const small = 1e-6
	d := list[out].Value - m.about
	m.n, m.sum, m.squares = m.n-1, m.sum-d, m.squares-d*d
	if m.squares-m.sum*m.sum/m.n < small*m.began {
		*m = scatterOf(list, left)
	}
}

func (m *scatter) mean() float64 { return m.about + m.sum/m.n }

func (m *scatter) sd() float64 {
	return math.Sqrt(math.Max(0, m.squares-m.sum*m.sum/m.n) / math.Max(1, m.n-1))
}
