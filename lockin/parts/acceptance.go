package parts

import (
	"errors"
	"math"

	"example.org/wheatear/lockin/internal/errkind"
)

// ErrInput is wrapped by errors about figures, as *[SyntaxError] is by those about text.
var ErrInput = errors.New("parts: this cannot be used")

// ErrNeverDecided is wrapped where no estimate at all would be accepted: the
// uncertainty is too large for the limits.
var ErrNeverDecided = errors.New("no reading could be accepted")

// GuardedLimits returns the limits moved inward by g = ratio·U with U = 2u: ratio 1
// is the usual strict rule, 0 simple acceptance, −1 guarded rejection. Errors:
// limits that are none, and guards that meet (ErrNeverDecided).
// Reference: JCGM 106:2012, 8.3; ISO 14253-1 for ratio 1.
func GuardedLimits(l Limits, u, ratio float64) (Limits, error) {
	if err := checkDecision(l, u); err != nil {
		return Limits{}, err
	}
	a := l.inward(2 * u * ratio)
	if !(a.Low <= a.High) {
		return Limits{}, errkind.Errorf(ErrInput, "parts: guards of %g on either side meet: %w", 2*u*ratio, ErrNeverDecided)
	}
	return a, nil
}

// AcceptanceLimits returns the estimates whose conformance probability is p or
// more: between them a normal quantity of standard uncertainty u may be accepted.
// Against two limits p_C(y) = p is solved for both sides together, exactly;
// with u = 0 they are the limits themselves.
//
// Errors: limits that are none, p not between 0 and 1, and an uncertainty so large
// that the middle does not reach p (ErrNeverDecided; see LargestU).
// Reference: JCGM 106:2012, 8.3.2.
func AcceptanceLimits(l Limits, u, p float64) (Limits, error) {
	if err := checkDecision(l, u); err != nil {
		return Limits{}, err
	}
	if !(p > 0 && p < 1) {
		return Limits{}, errkind.Errorf(ErrInput, "parts: a required probability of %g: give one between 0 and 1, such as 0.95", p)
	}
	if u == 0 || !l.twoSided() {
		return l.inward(normalQuantile(p) * u), nil
	}
	if u > LargestU(l, p) {
		return Limits{}, errkind.Errorf(ErrInput, "parts: u = %g is above %g, where the middle of the limits has probability %g: %w", u, LargestU(l, p), p, ErrNeverDecided)
	}
	g := solveGuard((l.High-l.Low)/2/u, p) * u
	return l.inward(g), nil
}

// solveGuard finds the guard, in units of u, for limits ±half about zero, by
// bisection down to neighbouring float64s: p_C falls from the middle outward.
func solveGuard(half, p float64) float64 {
	probability := func(guard float64) float64 {
		return ConformanceProbability(Normal{Value: half - guard, U: 1}, Limits{-half, half})
	}
	low, high := normalQuantile(p), half // a second limit takes more guard than one alone
	if probability(low) >= p {
		return low
	}
	for {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			return high
		}
		if probability(middle) < p {
			low = middle
		} else {
			high = middle
		}
	}
}

// LargestU returns the standard uncertainty above which not even an estimate in
// the middle of the limits has the conformance probability p; infinite for
// one-sided limits.
//
//	u = (T_U − T_L)/2 / z_((1+p)/2)
func LargestU(l Limits, p float64) float64 {
	if !l.twoSided() {
		return math.Inf(1)
	}
	return (l.High - l.Low) / 2 / normalQuantile((1+p)/2)
}

func checkDecision(l Limits, u float64) error {
	if !l.Valid() {
		return errkind.Errorf(ErrInput, "parts: limits %g and %g: give one at least, the lower below the upper", l.Low, l.High)
	}
	if !(u >= 0) || math.IsInf(u, 0) {
		return errkind.Errorf(ErrInput, "parts: a standard uncertainty of %g: give one of zero or more", u)
	}
	return nil
}
