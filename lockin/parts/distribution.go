package parts

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/internal/errkind"
)

// Distribution is what is known of a quantity after it was measured: the
// probabilities that it lies below and above x. Both are kept, since the small
// one of a tail cannot be had from the large one.
type Distribution interface {
	Below(x float64) float64
	Above(x float64) float64
}

// Normal is a normal distribution: estimate and standard uncertainty, in one
// unit. U = 0 is a quantity known exactly.
type Normal struct{ Value, U float64 }

// Below returns Φ((x − Value)/U), ½ at the value of a quantity known exactly.
func (n Normal) Below(x float64) float64 { return upperTail(n.score(n.Value - x)) }

// Above returns 1 − Below without loss in the tail.
func (n Normal) Above(x float64) float64 { return upperTail(n.score(x - n.Value)) }

func (n Normal) score(distance float64) float64 {
	if n.U == 0 && distance == 0 {
		return 0
	}
	return distance / n.U
}

// upperTail is 1 − Φ(z).
func upperTail(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// normalQuantile is z with Φ(z) = p.
func normalQuantile(p float64) float64 {
	if p > 0.5 {
		return -normalQuantile(1 - p)
	}
	return -math.Sqrt2 * math.Erfcinv(2*p)
}

// After returns the distribution once a second, independent measurement, or the
// spread of the production as prior knowledge, is taken into account.
//
//	1/u² = 1/u₁² + 1/u₂²,  y/u² = y₁/u₁² + y₂/u₂²
//
// Reference: JCGM 106:2012, 6.
func (n Normal) After(prior Normal) Normal {
	switch {
	case n.U == 0 || math.IsInf(prior.U, 1):
		return n
	case prior.U == 0 || math.IsInf(n.U, 1):
		return prior
	}
	w := n.U / prior.U
	share := w * w / (1 + w*w) // of the prior
	return Normal{Value: n.Value + share*(prior.Value-n.Value), U: n.U / math.Sqrt(1+w*w)}
}

// Draws is a distribution known from a Monte Carlo sample.
type Draws struct{ sorted []float64 }

// NewDraws copies a sample. Errors: none or NaN among the draws.
func NewDraws(sample []float64) (*Draws, error) {
	if len(sample) == 0 {
		return nil, errkind.Errorf(ErrInput, "parts: a sample without draws says nothing")
	}
	sorted := slices.Clone(sample)
	slices.Sort(sorted)
	if math.IsNaN(sorted[0]) {
		return nil, errkind.Errorf(ErrInput, "parts: NaN among the draws of a sample")
	}
	return &Draws{sorted}, nil
}

// Below returns (k + ½)/(n + 1) for k of n draws below x, where a draw at x counts
// half. The other halves keep a tail that no draw fell into from having the
// probability zero, which a sample cannot tell.
func (d *Draws) Below(x float64) float64 {
	first, _ := slices.BinarySearch(d.sorted, x)
	next, _ := slices.BinarySearchFunc(d.sorted, x, func(v, x float64) int {
		if v <= x {
			return -1
		}
		return 1
	})
	return (float64(first+next)/2 + 0.5) / float64(len(d.sorted)+1)
}

// least returns ½/(n + 1), the smallest probability of anything that so many draws
// can tell.
func (d *Draws) least() float64 { return 0.5 / float64(len(d.sorted)+1) }

// Above returns 1 − Below.
func (d *Draws) Above(x float64) float64 { return 1 - d.Below(x) }
