package uncertain

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/internal/errkind"
)

// Allan is the Allan deviation of a series at one averaging time, in the unit of
// the series.
type Allan struct {
	Average   int     // readings averaged: m
	TauS      float64 // averaging time, seconds
	Deviation float64
	Dof       float64 // equivalent degrees of freedom
	Low, High float64 // 95 % interval
}

// AllanDeviation returns the overlapping Allan deviation of readings taken in even
// steps, for averages of m readings each.
//
//	σ²(mτ₀) = 1/(2m²(M − 2m + 1)) Σ_j ( Σ_{i=j}^{j+m−1} (y_{i+m} − y_i) )²
//
// y are the M readings, stepS is τ₀ in seconds. The interval is that of χ² with
// the degrees of freedom of white noise; where the readings drift or flicker it is
// too narrow. Noise that averaging removes falls as 1/√m; where the deviation
// rises again, longer averages make a reading worse.
//
// Errors: fewer than 2m readings, m below 1, readings that are not finite, a step
// that is not positive. Costs one pass per m.
// Reference: W. J. Riley, Handbook of Frequency Stability Analysis, NIST SP 1065
// (2008), 5.2.4 and 5.4.1 (degrees of freedom of white FM noise, from memory).
func AllanDeviation(y []float64, stepS float64, m int) (Allan, error) {
	sums, err := allanSums(y, stepS, m)
	if err != nil {
		return Allan{}, err
	}
	terms := len(y) - 2*m + 1
	total := 0.0
	for j := range terms {
		d := sums[j+2*m] - 2*sums[j+m] + sums[j]
		total += d * d
	}
	a := Allan{Average: m, TauS: float64(m) * stepS, Deviation: math.Sqrt(total/float64(2*terms)) / float64(m)}
	a.Dof = allanDof(len(y)+1, m)
	a.interval()
	return a, nil
}

// AllanCurve returns the overlapping deviation at averages of 1, 2, 4, … readings,
// as far as at least three averages fit into the series.
func AllanCurve(y []float64, stepS float64) ([]Allan, error) {
	var out []Allan
	for m := 1; 3*m <= len(y) || m == 1; m *= 2 {
		a, err := AllanDeviation(y, stepS, m)
		if err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

// LongestUseful returns the longest average of a curve up to which longer ones
// help: the first with the smallest deviation. worse is set where a later one is
// larger beyond doubt (95 %), and not just the last there is.
func LongestUseful(curve []Allan) (best Allan, worse bool) {
	for i, a := range curve {
		if i == 0 || a.Deviation < best.Deviation {
			best, worse = a, false
		}
		worse = worse || a.Low > best.Deviation
	}
	return best, worse
}

// allanSums returns the running sums of the readings about their mean, which a
// difference of sums does not feel but their rounding does; entry k is the sum of
// the first k.
func allanSums(y []float64, stepS float64, m int) ([]float64, error) {
	switch {
	case m < 1 || m > len(y)/2:
		return nil, errkind.Errorf(ErrInput, "uncertain: an Allan deviation of averages of %d from %d readings: it needs two averages at least", m, len(y))
	case !(stepS > 0) || math.IsInf(stepS, 0):
		return nil, errkind.Errorf(ErrInput, "uncertain: readings every %g s: give a step above zero", stepS)
	}
	mean := 0.0
	for i, v := range y {
		if !finite(v) {
			return nil, errkind.Errorf(ErrInput, "uncertain: reading %d is %g: leave gaps out and treat each stretch alone", i+1, v)
		}
		mean += (v - mean) / float64(i+1)
	}
	sums := make([]float64, len(y)+1)
	for i, v := range y {
		sums[i+1] = sums[i] + (v - mean)
	}
	return sums, nil
}

// allanDof returns the equivalent degrees of freedom for white noise of the
// readings (white FM), for n running sums:
//
//	( 3(n−1)/(2m) − 2(n−2)/n ) · 4m²/(4m² + 5)
func allanDof(n, m int) float64 {
	nf, mf := float64(n), float64(m)
	return math.Max(1, (3*(nf-1)/(2*mf)-2*(nf-2)/nf)*4*mf*mf/(4*mf*mf+5))
}

// interval is that of a variance with so many degrees of freedom.
func (a *Allan) interval() {
	chi := distuv.ChiSquared{K: a.Dof}
	a.Low = a.Deviation * math.Sqrt(a.Dof/chi.Quantile(0.975))
	a.High = a.Deviation * math.Sqrt(a.Dof/chi.Quantile(0.025))
}
