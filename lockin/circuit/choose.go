package circuit

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"
)

// Candidate is a circuit that may be the right one.
type Candidate struct {
	Name    string
	Circuit *Circuit
	Config  FitConfig
}

// Choice is what a sweep says of several circuits.
type Choice struct {
	Fits    []Ranked // best first
	Verdict Verdict
	Words   string // the verdict in a sentence
}

// Ranked is one circuit of a choice.
type Ranked struct {
	Candidate
	*Result
	// Delta is its AICc above the least; its likelihood relative to the best is
	// exp(−Delta/2).
	Delta float64
	// Rival says that the sweep cannot tell it from the best: its relative likelihood
	// is above 5 %, and it holds no element that the sweep does not show.
	Rival bool
}

// Verdict of a choice.
type Verdict string

const (
	Chosen             Verdict = "chosen"              // the first is the one
	NotDistinguishable Verdict = "not distinguishable" // the rivals do as well as the first
	NoneAgrees         Verdict = "none agrees"         // the first is the best of the wrong ones
)

// rivalDelta is where exp(−Δ/2) is 5 %.
var rivalDelta = -2 * math.Log(0.05)

// Choose fits all candidates to a sweep and says which of them it shows, by Akaike's
// criterion corrected for short data. A circuit that holds an element of which the
// sweep says nothing, or that cannot be fitted, is no rival. Of two circuits with
// equal impedance no sweep can choose one, and the verdict says so.
//
// Errors: none of the candidates could be fitted (the errors are joined).
//
// Reference: Burnham and Anderson, 2002, section 2.6.
func Choose(candidates []Candidate, d *Data) (*Choice, error) {
	c := &Choice{}
	var failed []error
	for _, candidate := range candidates {
		r, err := Fit(candidate.Circuit, d, candidate.Config)
		if err != nil {
			failed = append(failed, fmt.Errorf("%s: %w", candidate.Name, err))
			continue
		}
		c.Fits = append(c.Fits, Ranked{Candidate: candidate, Result: r})
	}
	if len(c.Fits) == 0 {
		return nil, errors.Join(append(failed, fmt.Errorf("%w: no circuit is left to choose", ErrConfig))...)
	}
	sort.SliceStable(c.Fits, func(i, j int) bool { return c.Fits[i].before(&c.Fits[j]) })
	c.rank()
	c.judge()
	return c, nil
}

// before orders by the criterion; among equals those whose elements all show.
func (r *Ranked) before(other *Ranked) bool {
	if shown := r.shown(); shown != other.shown() && math.Abs(r.AICc-other.AICc) < rivalDelta {
		return shown
	}
	return r.AICc < other.AICc
}

// shown says whether the sweep determines every element.
func (r *Ranked) shown() bool {
	for _, p := range r.Parameters {
		if p.State != Determined && p.State != AtBound {
			return false
		}
	}
	return true
}

func (c *Choice) rank() {
	least := math.Inf(1)
	for _, f := range c.Fits {
		least = min(least, f.AICc)
	}
	for i := range c.Fits {
		f := &c.Fits[i]
		f.Delta = f.AICc - least
		f.Rival = i > 0 && f.AICc-c.Fits[0].AICc < rivalDelta && f.shown()
	}
}

func (c *Choice) judge() {
	best := &c.Fits[0]
	var rivals []string
	for _, f := range c.Fits {
		if f.Rival {
			rivals = append(rivals, f.Name)
		}
	}
	switch {
	case best.Agreement == Disagrees:
		c.Verdict = NoneAgrees
		c.Words = fmt.Sprintf("none of the circuits agrees with the sweep; %s comes nearest", best.Name)
	case len(rivals) > 0:
		c.Verdict = NotDistinguishable
		c.Words = fmt.Sprintf("the sweep cannot tell %s from %s", best.Name, strings.Join(rivals, ", "))
	default:
		c.Verdict = Chosen
		c.Words = fmt.Sprintf("%s; the others explain the sweep worse or hold elements that it does not show", best.Name)
	}
}
