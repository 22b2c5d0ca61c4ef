package predict

import (
	"math"
	"sort"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/uncertain"
)

// Wish is what a plan is to be made for.
type Wish struct {
	Part         Part
	ReferenceOhm []float64 // resistors in the drawer; nil for the reference of the jig
	FreqsHz      []float64 // nil for those allowed for the part
	Want         float64   // relative half width of the 95 % interval; 0 for as good as it gets
}

// Choice is one frequency with one reference, and what it comes to.
type Choice struct {
	ReferenceOhm float64
	FreqHz       float64
	Half         float64 // relative half width of the main quantity; infinite for none
	Seconds      float64 // of record, enough for Want where there is one and it can be had
	Reached      bool    // Half is no more than Want
	Corrected    *fixture.Corrected
	Limits       []uncertain.Contribution // what the uncertainty is made of, largest first
}

// Plan is all choices, the best first.
type Plan struct {
	Wish    Wish
	Choices []Choice
	Refused []error // frequencies and references that cannot be used
}

// Plan tries every reference at every frequency. Among those that come to nearly the
// same, the earlier frequency of the list is preferred: it is the referee's.
//
// Errors: a setup that cannot be used at all. A frequency or reference that cannot be
// used is among Refused.
func (s *Setup) Plan(w Wish) (*Plan, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if w.FreqsHz == nil {
		w.FreqsHz = w.Part.FrequenciesHz(s.Card.RateHz)
	}
	if w.ReferenceOhm == nil {
		w.ReferenceOhm = []float64{s.Jig.ReferenceOhm}
	}
	p := &Plan{Wish: w}
	for _, ohm := range w.ReferenceOhm {
		for _, hz := range w.FreqsHz {
			c, err := s.with(ohm).choice(w, hz)
			if err != nil {
				p.Refused = append(p.Refused, err)
				continue
			}
			p.Choices = append(p.Choices, *c)
		}
	}
	rank := func(c Choice) (goal bool, half float64) { return w.Want > 0 && c.Reached, c.Half }
	sort.SliceStable(p.Choices, func(i, j int) bool {
		goalI, halfI := rank(p.Choices[i])
		goalJ, halfJ := rank(p.Choices[j])
		if goalI != goalJ {
			return goalI
		}
		return halfI < halfJ*(1-nearly)
	})
	return p, nil
}

// nearly the same are choices that differ by no more than this.
const nearly = 0.03

// with is the setup with another reference, of the tolerance of the jig's own.
func (s *Setup) with(ohm float64) *Setup {
	out, jig := *s, *s.Jig
	jig.ReferenceOhm = ohm
	out.Jig = &jig
	return &out
}

// longest is how long a record may become for a wish, in seconds, and growth how it
// is tried.
const (
	longest = 60
	growth  = 4
)

// choice predicts one frequency, with as long a record as the wish needs.
func (s *Setup) choice(w Wish, hz float64) (*Choice, error) {
	out := &Choice{ReferenceOhm: s.Jig.ReferenceOhm, FreqHz: hz, Half: math.Inf(1)}
	trial := *s
	for {
		cal, err := trial.Calibrate(hz)
		if err != nil {
			return nil, err
		}
		c, err := cal.Part(w.Part.Impedance(hz))
		if err != nil {
			return nil, err
		}
		half := math.Inf(1)
		if c.Trusted {
			half = HalfWidth(w.Part.Main(c.Reading))
		}
		if out.Corrected == nil || half < out.Half*0.95 { // longer is only better where it helps
			out.Half, out.Seconds, out.Corrected = half, trial.Card.Seconds, c
		}
		out.Reached = w.Want > 0 && out.Half <= w.Want
		if w.Want == 0 || out.Reached || trial.Card.Seconds*growth > longest {
			break
		}
		trial.Card.Seconds *= growth
	}
	return out, out.limits(w.Part)
}

// limits are the budget of the axis that the main quantity lies on.
func (c *Choice) limits(p Part) error {
	if c.Corrected.Model == nil || !c.Corrected.Trusted {
		return nil
	}
	result, err := c.Corrected.Propagate()
	if err != nil {
		return err
	}
	axis := fixture.OutIm
	if p.Main(c.Corrected.Reading) == c.Corrected.Reading.Re {
		axis = fixture.OutRe
	}
	c.Limits = result.Budget(axis)
	return nil
}
