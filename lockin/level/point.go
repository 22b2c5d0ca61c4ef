package level

import (
	"math"
	"sort"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Point is a part read at one level.
type Point struct {
	// Level is what the part was exposed to, rms: volts and amperes where the jig states
	// its full scale, else with full scale taken for 1 V. The levels of one study share
	// one scale, and only their ratios matter.
	Level   fixture.PartLevel
	Reading impedance.Reading
	// NoiseU are the standard uncertainties of Re Z and Im Z, in ohm, that are not
	// shared with the points at other levels.
	NoiseU    [2]float64
	Harmonics []fixture.Harmonic
}

// ownLabels name the terms of a budget that differ from record to record while
// the part stays where it is.
var ownLabels = []string{fixture.NoiseLabel(fixture.PartRole), fixture.LabelDrift, fixture.LabelRepeat, fixture.LabelMains,
	fixture.LabelRounding, fixture.LabelMovement}

// NewPoint makes a point of a corrected reading. Errors: a reading that is not to
// be trusted, that is no more than a bound, or of which no level is known.
func NewPoint(c *fixture.Corrected, harmonics []fixture.Harmonic) (Point, error) {
	if c == nil {
		return Point{}, errkind.Errorf(ErrPoints, "level: there is no reading")
	}
	p := Point{Level: c.Level, Reading: c.Reading, Harmonics: harmonics}
	if !(p.Level.VoltRMS > 0) {
		p.Level = c.CardLevel
	}
	switch {
	case !c.Trusted:
		return p, errkind.Errorf(ErrPoints, "level: this reading cannot be trusted, so that it is left out")
	case c.Reading.State != impedance.OK:
		return p, errkind.Errorf(ErrPoints, "level: this reading is %s: no more than a bound, so that it is left out", c.Reading.State)
	case !(p.Level.VoltRMS > 0) || !(p.Level.AmpereRMS > 0):
		return p, errkind.Errorf(ErrPoints, "level: the level at the part is not known, so that it is left out")
	}
	result, err := c.Propagate()
	if err != nil {
		return p, errkind.Errorf(ErrPoints, "level: %w", err)
	}
	for axis := range 2 {
		p.NoiseU[axis] = ownU(result, axis)
	}
	return p, nil
}

// ownU is what a point does not share with others, of one output.
func ownU(result *uncertain.Result, output int) float64 {
	variance := 0.0
	for _, c := range result.Budget(output) {
		for _, own := range ownLabels {
			if c.Label == own {
				variance += c.U * c.U
			}
		}
	}
	return math.Sqrt(variance)
}

// ohm is the impedance of a point.
func (p Point) ohm() complex128 {
	return complex(p.Reading.Re.Value, p.Reading.Im.Value)
}

// byLevel sorts points by rising voltage.
func byLevel(points []Point) []Point {
	out := append([]Point(nil), points...)
	sort.SliceStable(out, func(a, b int) bool { return out[a].Level.VoltRMS < out[b].Level.VoltRMS })
	return out
}
