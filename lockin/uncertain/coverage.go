package uncertain

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// knownDof is where Student's t is taken as normal: the factors differ by about
// (k²+1)/(4ν) relative, less than 10⁻⁶ at k = 2.
const knownDof = 2e6

// CoverageFactor returns k such that ±k·u holds the fraction p of a normal
// quantity whose u has dof degrees of freedom (0 or +Inf: u is known):
//
//	k = t_{(1+p)/2}(ν)
//
// dof need not be an integer. NaN where p is not between 0 and 1, or dof is
// negative or NaN. Reference: JCGM 100:2008, G.3 and Table G.2.
func CoverageFactor(p, dof float64) float64 {
	if !(p > 0 && p < 1) || math.IsNaN(dof) || dof < 0 {
		return math.NaN()
	}
	if dof == 0 || dof > knownDof {
		return math.Sqrt2 * math.Erfinv(p)
	}
	return studentQuantile((1+p)/2, dof)
}

// ComplexCoverageFactor returns k such that the region
//
//	(z−ẑ)ᵀ V⁻¹ (z−ẑ) ≤ k²
//
// holds a complex quantity (real and imaginary part jointly normal) with
// probability p. With V known (dof 0 or +Inf) k = √(−2 ln(1−p)); with V
// estimated from dof + 1 repeats k² = 2ν/(ν−1) · F_p(2, ν−1), which closes to
//
//	k² = ν ((1−p)^(−2/(ν−1)) − 1)
//
// It is +Inf for 0 < dof ≤ 1, NaN where p is not between 0 and 1 or dof is
// negative or NaN. References: JCGM 102:2011, 6.5; H. Hotelling, Ann. Math.
// Stat. 2 (1931) 360.
func ComplexCoverageFactor(p, dof float64) float64 {
	switch {
	case !(p > 0 && p < 1) || math.IsNaN(dof) || dof < 0:
		return math.NaN()
	case dof == 0 || math.IsInf(dof, 1):
		return math.Sqrt(-2 * math.Log1p(-p))
	case dof <= 1:
		return math.Inf(1)
	}
	return math.Sqrt(dof * math.Expm1(-2/(dof-1)*math.Log1p(-p)))
}

func studentQuantile(q, dof float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(q)
}
