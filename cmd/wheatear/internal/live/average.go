package live

import (
	"context"
	"fmt"
	"math"
	"slices"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/stimulus"
)

// Goal is when enough has been recorded. The zero value is one record.
type Goal struct {
	To      float64 // wanted half width of the 95 % interval of |Z|, relative; 0 for none
	Seconds float64 // of recording at the most; 0 for as many as [DefaultSeconds] where To is given
}

// DefaultSeconds limits a series that a wanted uncertainty alone would end.
const DefaultSeconds = 30

// Averaged are repeats of one part. Spoilt records are not among the takes,
// unless there is no sound one.
type Averaged struct {
	Takes   []*Take
	Reached bool   // the wanted uncertainty
	Why     string // it was not, for a person; empty where nothing was wanted
}

// Observations are those of the takes.
func (a *Averaged) Observations() []fixture.Observation {
	var out []fixture.Observation
	for _, t := range a.Takes {
		out = append(out, t.Observation)
	}
	return out
}

// Driver is what the driver reported meanwhile.
func (a *Averaged) Driver() []finding.Finding {
	var out []finding.Finding
	for _, t := range a.Takes {
		if t.Driver != nil {
			out = append(out, *t.Driver)
		}
	}
	return out
}

// Average records a part until the goal is reached, the time is over, or more
// records would not help. Each tone of the plan must reach it. What has been
// recorded is returned with any error, too.
func (s *Session) Average(ctx context.Context, what Subject, plan *stimulus.Plan, cal *fixture.Calibration, goal Goal) (*Averaged, error) {
	if goal.To > 0 && goal.Seconds == 0 {
		goal.Seconds = DefaultSeconds
	}
	out := &Averaged{}
	began := s.seconds
	for {
		before := s.seconds
		t, err := s.Take(ctx, what, plan)
		if t != nil && (len(t.Spoilt) == 0 || len(out.Takes) == 0) {
			out.Takes = append(out.Takes, t)
		}
		if err != nil {
			return out, err
		}
		if len(t.Spoilt) > 0 {
			return out, out.spoilt(t)
		}
		done, err := s.enough(out, cal, plan, goal)
		if err != nil || done {
			return out, err
		}
		if s.seconds-began+s.seconds-before > goal.Seconds {
			out.timeUp(goal)
			return out, nil
		}
	}
}

// spoilt ends a series at a record that cannot be used. As the only one it speaks
// for itself, by its findings.
func (a *Averaged) spoilt(t *Take) error {
	if a.Takes[0] == t {
		return nil
	}
	before := "the record before it can"
	if n := len(a.Takes); n != 1 {
		before = fmt.Sprintf("the %d records before it can", n)
	}
	return fmt.Errorf("live: %s cannot be used: %s; %s", t.Observation.File, t.trouble(), before)
}

func (a *Averaged) timeUp(goal Goal) {
	if goal.To > 0 {
		a.Why = fmt.Sprintf("%s was not reached within %g s of recording; allow more time, or play louder", percent(goal.To), goal.Seconds)
	}
}

// percent writes a share of one.
func percent(share float64) string { return fmt.Sprintf("%.3g %%", 100*share) }

// enough reports whether the goal is reached, or out of reach.
func (s *Session) enough(a *Averaged, cal *fixture.Calibration, plan *stimulus.Plan, goal Goal) (bool, error) {
	if goal.To == 0 {
		return false, nil
	}
	a.Reached = true
	for _, freqHz := range Frequencies(plan) {
		c, err := Measure(s.jig, cal, a.Observations(), freqHz, s.Reading())
		if err != nil {
			return false, err
		}
		if !c.Trusted {
			a.Reached, a.Why = false, "the reading is not to be trusted"
			return true, nil
		}
		if half(c) <= goal.To {
			continue
		}
		a.Reached = false
		least, source, err := floor(c)
		if err != nil {
			return false, err
		}
		if least > goal.To {
			a.Why = fmt.Sprintf("%s is out of reach at %g Hz: %s alone would leave %s, however long one records",
				percent(goal.To), freqHz, source, percent(least))
			return true, nil
		}
	}
	return a.Reached, nil
}

// half is half of the 95 % interval of |Z|, relative.
func half(c *fixture.Corrected) float64 {
	q := c.Reading.Modulus
	h := (q.High - q.Low) / 2 / q.Value
	if math.IsNaN(h) {
		return math.Inf(1)
	}
	return h
}

// floor is what would be left of half if all that differs from record to record
// were averaged away, and the largest source of it.
func floor(c *fixture.Corrected) (least float64, source string, err error) {
	if c.Reading.State != impedance.OK {
		return math.Inf(1), "what the jig itself is", nil
	}
	r, err := c.Propagate()
	if err != nil {
		return 0, "", err
	}
	size2 := r.Y[fixture.OutRe]*r.Y[fixture.OutRe] + r.Y[fixture.OutIm]*r.Y[fixture.OutIm]
	all, fixed, most := 0.0, 0.0, 0.0
	for _, out := range []int{fixture.OutRe, fixture.OutIm} {
		weight := r.Y[out] * r.Y[out] / size2
		for _, b := range r.Budget(out) {
			v := weight * b.U * b.U
			all += v
			if slices.Contains(averaged, b.Label) {
				continue
			}
			fixed += v
			if v > most {
				most, source = v, b.Label
			}
		}
	}
	if all == 0 {
		return 0, "", nil
	}
	return half(c) * math.Sqrt(fixed/all), source, nil
}

// averaged are the lines of a budget that more records make smaller.
var averaged = []string{
	fixture.NoiseLabel(fixture.PartRole), fixture.LabelContact, fixture.LabelStray,
	fixture.LabelDrift, fixture.LabelMains, fixture.LabelMovement, fixture.LabelRepeat,
}
