package uncertain

import (
	"cmp"
	"math"
	"slices"
)

// Contribution is one line of a budget.
type Contribution struct {
	Label string
	U     float64 // standard uncertainty that this source alone gives the output, in the output's unit
	Share float64 // of the output's variance, 0 … 1
}

// Budget says what the uncertainty of output i is made of, largest first. All
// inputs of one label are one line, a jointly normal block counts as a whole
// with cᵀVc; the shares add up to 1. It is empty where the uncertainty is zero or
// does not exist, and leaves out what contributes nothing.
func (r *Result) Budget(i int) []Contribution {
	if !r.has(i) {
		return nil
	}
	total := r.Cov.At(i, i)
	if !finite(total) || total == 0 {
		return nil
	}
	var lines []Contribution
	line := make(map[string]int)
	for k := range r.groups {
		g := &r.groups[k]
		v := r.variance(i, g)
		if v == 0 {
			continue
		}
		n, seen := line[g.label]
		if !seen {
			n, line[g.label] = len(lines), len(lines)
			lines = append(lines, Contribution{Label: g.label})
		}
		lines[n].Share += v / total
	}
	for n := range lines {
		lines[n].U = math.Sqrt(lines[n].Share * total)
	}
	slices.SortStableFunc(lines, func(a, b Contribution) int { return cmp.Compare(b.Share, a.Share) })
	return lines
}

// variance is what a group contributes to the variance of output i.
func (r *Result) variance(i int, g *group) float64 {
	sum := 0.0
	for m := range g.rank {
		w := 0.0
		for k := range g.n {
			w += r.Sens.At(i, g.first+k) * g.factor[k*g.rank+m]
		}
		sum += w * w
	}
	return sum
}
