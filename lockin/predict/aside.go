package predict

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// moveAside moves the frequencies that lie on lines of the mains, and returns what those
// now there stand for. What moves far comes last: another that stays is meant as well.
func (s *Setup) moveAside(hz []float64) map[float64]float64 {
	from := map[float64]float64{}
	for i, f := range hz {
		if to := s.aside(f); to != f {
			hz[i], from[to] = to, f
		}
	}
	far := func(f float64) int {
		meant, ok := from[f]
		return btoi(ok && math.Abs(f-meant) > moved*meant)
	}
	slices.SortStableFunc(hz, func(a, b float64) int { return far(a) - far(b) })
	return from
}

// meantHz is the frequency that the choice stands for.
func (c *Choice) meantHz() float64 {
	if c.MovedFromHz != 0 {
		return c.MovedFromHz
	}
	return c.FreqHz
}

// Condition is who means the frequency of the choice for the part; ok is false where
// nobody does.
func (c *Choice) Condition(p Part) (parts.Condition, bool) { return p.condition(c.meantHz()) }

// aside is where a measurement that may move its tone would put it, of a frequency on a
// line of the mains; others stay.
func (s *Setup) aside(hz float64) float64 {
	if _, order := stimulus.MainsOrder(hz, s.Jig.MainsHz, stimulus.UsedSeconds(s.Card.Seconds, hz)); order == 0 {
		return hz
	}
	plan, err := stimulus.PlanTones(stimulus.Config{RateHz: s.Card.RateHz, Seconds: s.Card.Seconds + 0.1, MainsHz: s.Jig.MainsHz},
		[]stimulus.ToneRequest{{FreqHz: hz, Movable: true}})
	if err != nil {
		return hz
	}
	return plan.Tones[0].FreqHz
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
