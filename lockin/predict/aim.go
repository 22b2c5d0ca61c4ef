package predict

import (
	"math"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// Aim says which level across the part a choice plays for.
type Aim struct {
	VoltRMS parts.Limits // wanted across the part; NaN where nothing is
	Source  string       // who wants it
	Within  bool         // it is what the part gets
	ratio   float64      // of the level to that of the setup
}

const (
	loudest = 0.89 // of full scale, -1 dBFS: the most that is advised
	// junctionV keeps silicon off: at 0.2 V peak a small diode of 4 nA and emission 1.9
	// takes under a microampere. Common practice.
	junctionV = 0.2
)

// aim chooses the level: what the conditions of the part say, or below what junctions
// conduct at in circuit, as far as the card goes. Where full scale is not known in
// volts, or nothing is said, the level stays.
func (s *Setup) aim(w Wish, c *Choice) Aim {
	none := Aim{VoltRMS: parts.Limits{Low: math.NaN(), High: math.NaN()}, ratio: 1}
	volt := c.Corrected.Level.VoltRMS
	if math.IsNaN(volt) || !(volt > 0) {
		return none
	}
	a := none
	cond, ok := w.Part.condition(c.meantHz())
	switch {
	case w.InCircuit:
		a.VoltRMS, a.Source = parts.Limits{High: junctionV / math.Sqrt2}, "junctions"
	case w.Part.Kind == impedance.Resistor || !ok:
		return none // it has no level of its own
	default:
		a.VoltRMS, a.Source = w.Part.level(cond)
	}
	switch {
	case math.IsNaN(a.VoltRMS.High):
		return none
	case volt < a.VoltRMS.Low:
		a.ratio = math.Min(a.VoltRMS.Low/volt, math.Max(1, loudest/s.Card.Peak))
	case volt > a.VoltRMS.High:
		a.ratio = a.VoltRMS.High / volt
	}
	const rounding = 1e-9
	a.Within = volt*a.ratio >= a.VoltRMS.Low*(1-rounding) && volt*a.ratio <= a.VoltRMS.High*(1+rounding)
	return a
}

// level is what a condition, or one that names no frequency of its own, asks across
// the part.
func (p Part) level(c parts.Condition) (parts.Limits, string) {
	if !math.IsNaN(c.LevelV.High) {
		return c.LevelV, source(c)
	}
	for _, other := range p.conditions() {
		if !math.IsNaN(other.LevelV.High) && (len(other.FreqsHz) == 0 || len(other.Reachable(parts.CardLowHz, parts.CardHighHz)) > 0) {
			return other.LevelV, source(other)
		}
	}
	return parts.Limits{Low: math.NaN(), High: math.NaN()}, ""
}

func source(c parts.Condition) string {
	if c.Standard == "none" {
		return "common practice"
	}
	return c.Standard
}
