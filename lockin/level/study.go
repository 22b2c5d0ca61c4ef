package level

import (
	"errors"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/uncertain"
)

// ErrPoints is wrapped where points are no study of the level.
var ErrPoints = errors.New("level: no study of the level")

// Study is a part over level, at one frequency.
type Study struct {
	FreqHz     float64
	Points     []Point // by rising level
	Main, Loss Curve   // over volts; over amperes for an inductor
	Kind       Kind
	Confidence Confidence
	Reasons    []string
	// Onset is the lowest level at which the part was seen to depart from what it
	// is at the lowest; zero where it was not.
	Onset fixture.PartLevel
}

// Of studies the points of one part at one frequency. Errors: fewer than two
// points, or all at one level.
func Of(points []Point) (*Study, error) {
	s := &Study{Points: byLevel(points)}
	if len(s.Points) < 2 || s.Points[len(s.Points)-1].Level.VoltRMS < 1.2*s.Points[0].Level.VoltRMS {
		return nil, errkind.Errorf(ErrPoints, "level: %d points over too little a range of level: give at least two levels, a fifth apart", len(points))
	}
	s.FreqHz = s.Points[0].Reading.FreqHz.Value
	s.Main, s.Loss = s.curves()
	e := gather(s.Points)
	s.Kind, s.Confidence = e.judge()
	s.Reasons = e.reasons(s.Kind)
	s.Onset = onset(s.Points)
	return s, nil
}

// curves are those of the main quantity and of the loss.
func (s *Study) curves() (main, loss Curve) {
	z := s.Points[0].ohm()
	main, loss = Curve{Name: "R", Unit: "Ω"}, Curve{Name: "D"}
	reactive := math.Abs(imag(z)) > math.Abs(real(z))
	switch {
	case reactive && imag(z) < 0:
		main = Curve{Name: "C", Unit: "F"}
	case reactive:
		main = Curve{Name: "L", Unit: "H"}
	default:
		loss = Curve{Name: "X", Unit: "Ω"}
	}
	for _, p := range s.Points {
		at := p.Level.VoltRMS
		if main.Name == "L" {
			at = p.Level.AmpereRMS
		}
		r := p.Reading
		relative := p.NoiseU[1] / math.Abs(r.Im.Value)
		switch main.Name {
		case "C":
			main.add(at, r.Series.C, relative)
		case "L":
			main.add(at, r.Series.L, relative)
		default:
			main.add(at, r.Re, p.NoiseU[0]/math.Abs(r.Re.Value))
		}
		if loss.Name == "D" {
			loss.add(at, r.D, math.Hypot(p.NoiseU[0]/cmplx.Abs(p.ohm())/math.Abs(r.D.Value), relative))
		} else {
			loss.add(at, r.Im, relative)
		}
	}
	main.extrapolate()
	loss.extrapolate()
	return main, loss
}

// add appends a value with the relative uncertainty that it does not share. Values
// that are absent are left out.
func (c *Curve) add(at float64, q uncertain.Quantity, relative float64) {
	u := math.Abs(q.Value) * relative
	if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) || math.IsNaN(u) {
		return
	}
	c.Level = append(c.Level, at)
	c.Values = append(c.Values, q)
	c.NoiseU = append(c.NoiseU, math.Max(u, 1e-9*math.Abs(q.Value)))
}
