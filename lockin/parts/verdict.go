package parts

import (
	"math"

	"example.org/wheatear/lockin/internal/errkind"
)

// Outcome is what a decision comes to.
type Outcome string

// The outcomes.
const (
	Pass      Outcome = "pass"
	Fail      Outcome = "fail"
	Undecided Outcome = "undecided"
)

// Rule is how to decide. The zero Rule asks for a probability of 95 % either way.
type Rule struct {
	Kind        RuleKind
	Probability float64 // of ByProbability; 0 means 0.95
	GuardRatio  float64 // r of ByGuard and Relaxed: the guard is r·U, U = 2u; 0 means 1
}

// RuleKind names a decision rule.
type RuleKind uint8

// The decision rules. Reference: JCGM 106:2012, 8.
const (
	// ByProbability passes what conforms with the required probability, fails what
	// does not conform with that probability, and leaves the rest undecided.
	ByProbability RuleKind = iota
	// ByGuard passes estimates that lie within the limits by the guard, fails those
	// that lie beyond a limit by it, and leaves those between undecided (guarded
	// acceptance; ISO 14253-1 with r = 1).
	ByGuard
	// Simple passes estimates within the limits and fails the others: the risk is
	// shared, up to one half.
	Simple
	// Relaxed fails only estimates beyond a limit by the guard (guarded rejection).
	Relaxed
)

const (
	usualProbability = 0.95
	usualGuard       = 1
)

func (r Rule) withDefaults() (Rule, error) {
	if r.Probability == 0 {
		r.Probability = usualProbability
	}
	if r.GuardRatio == 0 {
		r.GuardRatio = usualGuard
	}
	if r.Kind > Relaxed || !(r.Probability > 0.5 && r.Probability < 1) || !(r.GuardRatio > 0) || math.IsInf(r.GuardRatio, 0) {
		return r, errkind.Errorf(ErrInput, "parts: a rule of kind %d, probability %g and guard %g U: give a kind that exists, a probability between 0.5 and 1, a guard above 0", r.Kind, r.Probability, r.GuardRatio)
	}
	return r, nil
}

// Verdict is a decision with what it risks.
type Verdict struct {
	Outcome Outcome
	// Conformance is the probability that the part conforms.
	Conformance float64
	// Risk is the probability that the outcome is wrong: of accepting a part that
	// does not conform, or rejecting one that does. Of an undecided one it is that
	// of the more probable of both.
	Risk float64
	// Acceptance are the estimates that the rule passes; NaN where there are none.
	Acceptance Limits
	// Capability is the measurement capability index C_m; NaN for one-sided limits.
	Capability float64
	// EnoughU is the standard uncertainty with which the same estimate would be
	// decided; NaN where it is decided, or lies on a limit.
	EnoughU float64
}

// Judge decides whether a measured quantity conforms to limits. y and u are its
// estimate and standard uncertainty, d what is known of it: Normal{y, u} or a
// sample of the same measurement; nil means the former.
//
// Errors: limits that are none, y or u that is not finite, a rule out of range.
// Reference: JCGM 106:2012, 7 and 8.
func Judge(y, u float64, d Distribution, l Limits, rule Rule) (Verdict, error) {
	rule, err := rule.withDefaults()
	if err == nil {
		err = checkDecision(l, u)
	}
	if err == nil && (math.IsNaN(y) || math.IsInf(y, 0)) {
		err = errkind.Errorf(ErrInput, "parts: nothing to judge: the estimate is %g", y)
	}
	if err != nil {
		return Verdict{}, err
	}
	if d == nil {
		d = Normal{y, u}
	}
	v := Verdict{Conformance: ConformanceProbability(d, l), Capability: CapabilityIndex(l, u), EnoughU: math.NaN()}
	nonconformance := NonconformanceProbability(d, l)
	v.Acceptance = rule.acceptance(l, u)
	v.Outcome = rule.outcome(y, u, v.Conformance, nonconformance, l)
	switch {
	case v.Outcome == Pass:
		v.Risk = nonconformance
	case v.Outcome == Fail:
		v.Risk = v.Conformance
	default:
		v.Risk = math.Min(v.Conformance, nonconformance)
		v.EnoughU = rule.enoughU(y, l)
	}
	return v, nil
}

// outcome decides.
func (r Rule) outcome(y, u, conformance, nonconformance float64, l Limits) Outcome {
	guard := 2 * u * r.GuardRatio
	pass, fail := l.Contain(y), !l.Contain(y)
	switch r.Kind {
	case ByProbability:
		pass, fail = conformance >= r.Probability, nonconformance >= r.Probability
	case ByGuard:
		pass, fail = l.inward(guard).Contain(y), !l.inward(-guard).Contain(y)
	case Relaxed:
		pass = l.inward(-guard).Contain(y)
		fail = !pass
	}
	switch {
	case pass:
		return Pass
	case fail:
		return Fail
	}
	return Undecided
}

// acceptance is what a rule passes, of a normal quantity.
func (r Rule) acceptance(l Limits, u float64) Limits {
	var a Limits
	var err error
	switch r.Kind {
	case ByProbability:
		a, err = AcceptanceLimits(l, u, r.Probability)
	case ByGuard:
		a, err = GuardedLimits(l, u, r.GuardRatio)
	case Relaxed:
		a, err = GuardedLimits(l, u, -r.GuardRatio)
	default:
		a = l
	}
	if err != nil {
		return Limits{math.NaN(), math.NaN()}
	}
	return a
}

// enoughU is the u with which an estimate would be decided by a normal law: the
// distance from the nearer limit over the guard per u. Inside of two limits the
// other one may ask for a little less, which shrinks with the square of u.
func (r Rule) enoughU(y float64, l Limits) float64 {
	distance := math.Min(math.Abs(y-l.Low), math.Abs(l.High-y))
	if distance == 0 {
		return math.NaN()
	}
	if r.Kind == ByGuard {
		return distance / (2 * r.GuardRatio)
	}
	u := distance / normalQuantile(r.Probability)
	for l.Contain(y) && l.twoSided() && ConformanceProbability(Normal{y, u}, l) < r.Probability {
		u *= 0.99
	}
	return u
}
