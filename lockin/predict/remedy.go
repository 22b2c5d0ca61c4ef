package predict

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/fixture"
)

// Change is what a remedy changes.
type Change string

const (
	OtherReference Change = "reference"
	OtherFrequency Change = "frequency"
	BetterLoad     Change = "load"
	AllOfThem      Change = "all" // the three together, as far as each helps
)

// Remedy is a change by which a part would be known better than by the best choice of a
// plan.
type Remedy struct {
	Change Change
	Choice Choice
	Load   *fixture.Load // nil for that of the setup
}

// What is tried: resistors that are in most drawers, frequencies that most meters
// have, loads that can be bought. Common practice, no source.
var (
	usualReferences = [...]float64{1, 10, 100, 1e3, 10e3, 100e3, 1e6}
	usualHz         = [...]float64{100, 120, 1000, 10e3}
	usualTolerances = [...]float64{1e-3, 5e-4, 2e-4, 1e-4, 5e-5}
)

// Remedies looks for what would reach a wish that no choice of a plan reaches: a
// reference that is not in the drawer, a frequency that was not asked for, a better
// load, each with as long a record as helps. Of each kind there is the best at most,
// and only if it is nearer to the wish by more than a twentieth; where none is enough by
// itself, the last are all together. Nil for a wish that is reached, or for none.
func (s *Setup) Remedies(p *Plan) []Remedy {
	if p == nil || s.Jig == nil || p.Wish.Want <= 0 || len(p.Choices) == 0 || p.Choices[0].Reached {
		return nil
	}
	best := p.Choices[0]
	var out []Remedy
	for _, r := range []*Remedy{s.otherReference(p), s.otherFrequency(p), s.betterLoad(p.Wish, best, best.FreqHz)} {
		if r != nil {
			out = append(out, *r)
		}
	}
	if len(out) < 2 || slices.ContainsFunc(out, func(r Remedy) bool { return r.Choice.Reached }) {
		return out
	}
	if r := s.together(p.Wish, best, out); r != nil {
		out = append(out, *r)
	}
	return out
}

// better is whether a choice is worth the change.
func better(c, than Choice) bool { return c.Reached || c.Half < than.Half*(1-nearly) }

func (s *Setup) otherReference(p *Plan) *Remedy {
	best := p.Choices[0]
	var out *Remedy
	for _, ohm := range usualReferences {
		if slices.ContainsFunc(p.Wish.ReferenceOhm, func(o float64) bool { return sameHz(o, ohm) }) {
			continue
		}
		c, err := s.With(ohm).choice(p.Wish, best.FreqHz)
		if err == nil && better(*c, best) {
			out = preferred(out, &Remedy{Change: OtherReference, Choice: *c})
		}
	}
	return out
}

func (s *Setup) otherFrequency(p *Plan) *Remedy {
	best := p.Choices[0]
	tried := slices.Clone(usualHz[:])
	if best.MainsOrder != 0 {
		tried = append(tried, best.FreqHz)
	}
	var out *Remedy
	for _, meant := range tried {
		hz, from := s.aside(meant), meant
		if hz == meant {
			from = 0
		}
		if hz >= carried*s.Card.RateHz || slices.ContainsFunc(p.Wish.FreqsHz, func(f float64) bool { return sameHz(f, hz) }) {
			continue
		}
		c, err := s.With(best.ReferenceOhm).choiceFor(p.Wish, hz, from)
		if err == nil && better(*c, best) {
			out = preferred(out, &Remedy{Change: OtherFrequency, Choice: *c})
		}
	}
	return out
}

// betterLoad is the coarsest that is enough, or else the finest that still helps.
func (s *Setup) betterLoad(w Wish, best Choice, hz float64) *Remedy {
	trial := *s.With(best.ReferenceOhm)
	now := fixture.Load{Ohm: best.ReferenceOhm, Tolerance: s.Jig.ReferenceTolerance}
	if s.Load != nil {
		now = *s.Load
	}
	var out *Remedy
	for _, tolerance := range usualTolerances {
		if tolerance >= now.Tolerance {
			continue
		}
		load := fixture.Load{Ohm: now.Ohm, Tolerance: tolerance}
		trial.Load = &load
		c, err := trial.choice(w, hz)
		if err != nil || !better(*c, best) {
			continue
		}
		out = preferred(out, &Remedy{Change: BetterLoad, Choice: *c, Load: &load})
		if c.Reached {
			break
		}
	}
	return out
}

// together makes all changes at once.
func (s *Setup) together(w Wish, best Choice, list []Remedy) *Remedy {
	from, hz, finer := best, best.FreqHz, false
	for _, r := range list {
		switch r.Change {
		case OtherReference:
			from.ReferenceOhm = r.Choice.ReferenceOhm
		case OtherFrequency:
			hz = r.Choice.FreqHz
		case BetterLoad:
			finer = true
		}
		best.Half = math.Min(best.Half, r.Choice.Half)
	}
	from.Half = best.Half
	if finer {
		r := s.betterLoad(w, from, hz)
		if r != nil {
			r.Change = AllOfThem
		}
		return r
	}
	c, err := s.With(from.ReferenceOhm).choice(w, hz)
	if err != nil || !better(*c, from) {
		return nil
	}
	return &Remedy{Change: AllOfThem, Choice: *c}
}

// preferred is the remedy that reaches the wish sooner, or comes nearer to it.
func preferred(a, b *Remedy) *Remedy {
	switch {
	case a == nil:
		return b
	case a.Choice.Reached != b.Choice.Reached:
		if b.Choice.Reached {
			return b
		}
		return a
	case a.Choice.Reached && a.Choice.Seconds != b.Choice.Seconds:
		if b.Choice.Seconds < a.Choice.Seconds {
			return b
		}
		return a
	case b.Choice.Half < a.Choice.Half*(1-nearly):
		return b
	}
	return a
}
