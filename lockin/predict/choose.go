package predict

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/uncertain"
)

// Wish is what a plan is to be made for.
type Wish struct {
	Part         Part
	ReferenceOhm []float64 // resistors in the drawer; nil for the reference of the jig
	FreqsHz      []float64 // nil for those allowed for the part
	Want         float64   // relative half width of the 95 % interval; 0 for as good as it gets
	InCircuit    bool      // junctions lie beside the part
	Aside        bool      // frequencies that are allowed are moved off the lines of the mains
}

// Choice is one frequency with one reference, and what it comes to.
type Choice struct {
	ReferenceOhm float64
	FreqHz       float64
	MovedFromHz  float64 // what FreqHz stands for; 0 where it was not moved
	Peak         float64 // of the tone, re full scale
	Level        Aim     // what Peak was chosen for
	Half         float64 // relative half width of the main quantity; infinite for none
	Seconds      float64 // of record, enough for Want where there is one and it can be had
	Reached      bool    // Half is no more than Want
	MainsOrder   int     // of the multiple of the mains that the tone cannot be told from
	Corrected    *fixture.Corrected
	Limits       []uncertain.Contribution // what the uncertainty is made of, largest first

	reachHz float64 // how far the card reaches
}

// Longer is what a longer record would bring.
type Longer struct{ Seconds, Half float64 }

// Plan is all choices, the best first.
type Plan struct {
	Wish    Wish
	Choices []Choice
	Longer  *Longer // for the best choice; nil where nothing is gained, or Want was given
	Refused []error // frequencies and references that cannot be used
}

// Plan tries every reference at every frequency. Among those that come to nearly the
// same, the earlier one is preferred: of the frequencies it is the referee's, of the
// references the one that is in the jig already.
//
// Errors: a setup that cannot be used at all. A frequency or reference that cannot be
// used is among Refused.
func (s *Setup) Plan(w Wish) (*Plan, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	from := map[float64]float64{}
	if w.FreqsHz == nil {
		w.FreqsHz = w.Part.FrequenciesHz(s.Card.RateHz)
		if w.Aside {
			from = s.moveAside(w.FreqsHz)
		}
	}
	if w.ReferenceOhm == nil {
		w.ReferenceOhm = []float64{s.Jig.ReferenceOhm}
	}
	p := &Plan{Wish: w}
	inPlace := func(ohm float64) bool { return math.Abs(ohm/s.Jig.ReferenceOhm-1) < sameResistor }
	ohms := slices.Clone(w.ReferenceOhm)
	slices.SortStableFunc(ohms, func(a, b float64) int { return btoi(inPlace(b)) - btoi(inPlace(a)) })
	for _, hz := range w.FreqsHz {
		for _, ohm := range ohms {
			c, err := s.With(ohm).choiceFor(w, hz, from[hz])
			if err != nil {
				p.Refused = append(p.Refused, err)
				continue
			}
			p.Choices = append(p.Choices, *c)
		}
	}
	p.rank()
	return p, p.longer(s)
}

// sameResistor is how far the value in the jig file may be from the one in the drawer: it
// may have been measured.
const sameResistor = 0.01

// nearly the same are choices that differ by no more than this.
const nearly = 0.05

// rank sorts by what is reached, with how short a record, and how well. To the front
// comes the earliest that is nearly as good as the best.
func (p *Plan) rank() {
	order := func(a, b Choice) int {
		switch {
		case a.Reached != b.Reached && a.Reached:
			return -1
		case a.Reached != b.Reached:
			return 1
		case a.Reached && a.Seconds != b.Seconds:
			return cmp.Compare(a.Seconds, b.Seconds)
		}
		return cmp.Compare(a.Half, b.Half)
	}
	asked := slices.Clone(p.Choices)
	slices.SortStableFunc(p.Choices, order)
	for _, c := range asked {
		best := p.Choices[0]
		if c.Reached == best.Reached && c.Seconds == best.Seconds && c.Half <= best.Half*(1+nearly) {
			k := slices.IndexFunc(p.Choices, func(o Choice) bool { return o.ReferenceOhm == c.ReferenceOhm && o.FreqHz == c.FreqHz })
			p.Choices = slices.Insert(slices.Delete(p.Choices, k, k+1), 0, c)
			return
		}
	}
}

// With is the setup with another reference, of the tolerance of the jig's own.
func (s *Setup) With(ohm float64) *Setup {
	if s.Jig == nil {
		return s // for Plan to refuse
	}
	out, jig := *s, *s.Jig
	jig.ReferenceOhm = ohm
	out.Jig = &jig
	return &out
}

// longest is how long a record may become, in seconds, and growth how it is tried.
const (
	longest = 60
	growth  = 2
)

// choice predicts one frequency, at the level that suits the part, with as long a
// record as the wish needs.
func (s *Setup) choice(w Wish, hz float64) (*Choice, error) { return s.choiceFor(w, hz, 0) }

// choiceFor is the same for a frequency that was moved from another.
func (s *Setup) choiceFor(w Wish, hz, fromHz float64) (*Choice, error) {
	trial := *s
	out, err := trial.try(w, hz)
	if err != nil {
		return nil, err
	}
	out.MovedFromHz = fromHz
	aim := trial.aim(w, out)
	if aim.ratio != 1 {
		trial.Card.Peak *= aim.ratio
		if out, err = trial.try(w, hz); err != nil {
			return nil, err
		}
	}
	out.Level, out.MovedFromHz = aim, fromHz
	for w.Want > 0 && !out.Reached && trial.Card.Seconds*growth <= longest {
		trial.Card.Seconds *= growth
		next, err := trial.try(w, hz)
		if err != nil {
			return nil, err
		}
		next.Level, next.MovedFromHz = aim, fromHz
		if next.Half < out.Half*(1-nearly) { // longer is only better where it helps
			out = next
		}
	}
	return out, nil
}

// try predicts one frequency as the setup stands.
func (s *Setup) try(w Wish, hz float64) (*Choice, error) {
	cal, err := s.Calibrate(hz)
	if err != nil {
		return nil, err
	}
	out := &Choice{ReferenceOhm: s.Jig.ReferenceOhm, FreqHz: hz, Peak: s.Card.Peak, Seconds: s.Card.Seconds, Half: math.Inf(1), reachHz: carried * s.Card.RateHz}
	_, out.MainsOrder = stimulus.MainsOrder(hz, s.Jig.MainsHz, stimulus.UsedSeconds(s.Card.Seconds, hz))
	if out.Corrected, err = cal.Part(w.Part.Impedance(hz)); err != nil {
		return nil, err
	}
	if out.Corrected.Trusted {
		out.Half = HalfWidth(w.Part.Main(out.Corrected.Reading))
	}
	out.Reached = w.Want > 0 && out.Half <= w.Want
	return out, out.limits(w.Part)
}

// limits are the budget of the main quantity.
func (c *Choice) limits(p Part) error {
	if c.Corrected.Model == nil || !c.Corrected.Trusted {
		return nil
	}
	m, y := c.Corrected.Model, make([]float64, fixture.Outputs)
	result, err := uncertain.Propagate(m.Inputs, 1, func(dst, x []float64) {
		m.Func(y, x)
		dst[0] = p.main(y)
	})
	if err != nil {
		return err
	}
	c.Limits = result.Budget(0)
	return nil
}

// noiseShare is the part of the variance that a longer record makes smaller.
func (c *Choice) noiseShare() float64 {
	share := 0.0
	for _, l := range c.Limits {
		if strings.HasPrefix(l.Label, "noise") {
			share += l.Share
		}
	}
	return share
}

// littleNoise is how much of the variance noise may be when nothing more is to be
// gained from a longer record: 5 % of the half width.
const littleNoise = 0.1

// longer looks for the record from which on noise matters no more, and predicts it.
func (p *Plan) longer(s *Setup) error {
	if p.Wish.Want > 0 || len(p.Choices) == 0 {
		return nil
	}
	best := p.Choices[0]
	share := best.noiseShare()
	seconds := longest + 0.0
	if share < 1 {
		seconds = math.Min(longest, best.Seconds*share*(1-littleNoise)/(littleNoise*(1-share)))
	}
	if seconds < best.Seconds*growth {
		return nil
	}
	trial := *s.With(best.ReferenceOhm)
	trial.Card.Peak, trial.Card.Seconds = best.Peak, math.Ceil(seconds)
	c, err := trial.try(p.Wish, best.FreqHz)
	if err == nil && c.Half < best.Half*(1-nearly) {
		p.Longer = &Longer{c.Seconds, c.Half}
	}
	return err
}
