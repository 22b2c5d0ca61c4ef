package report

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/touchstone"
)

// Swept is a sweep that circuits are fitted to.
type Swept struct {
	Sweep
	File string // Touchstone; empty for a sweep of our own, which has a jig
	Left int    // points of it that cannot be used
	Data *circuit.Data
}

// NewSwept takes the readings that can be trusted, with their joint covariance.
func NewSwept(s *Sweep) (*Swept, error) {
	out := &Swept{Sweep: *s, Data: &circuit.Data{}}
	var good []*fixture.Corrected
	for _, r := range s.Readings {
		z := r.Corrected.Reading
		if !r.Trusted || z.State != impedance.OK || math.IsNaN(z.Re.Value) || math.IsNaN(z.Im.Value) {
			continue
		}
		good = append(good, r.Corrected)
		out.Data.FreqHz = append(out.Data.FreqHz, z.FreqHz.Value)
		out.Data.Z = append(out.Data.Z, complex(z.Re.Value, z.Im.Value))
	}
	if len(good) == 0 {
		return out, nil
	}
	cov, err := fixture.SweepCovariance(good)
	out.Data.Full = cov
	return out, err
}

// SweptFrom is a sweep from a file, of which no uncertainty is known. What no circuit is
// fitted to is left out: direct current, which simulators begin with, an open, and no
// impedance at all.
func SweptFrom(file string, n *touchstone.Network) *Swept {
	out := &Swept{File: file, Data: &circuit.Data{}}
	for i, z := range n.Ohm {
		if math.IsInf(cmplx.Abs(z), 0) || z == 0 || n.FreqHz[i] == 0 {
			out.Left++
			continue
		}
		out.Data.FreqHz, out.Data.Z = append(out.Data.FreqHz, n.FreqHz[i]), append(out.Data.Z, z)
	}
	return out
}

// Document is what documents of fitted sweeps have in common.
func (s *Swept) Document(c *circuit.Consistency) result.Swept {
	doc := result.Swept{Points: len(s.Data.FreqHz), Left: s.Left, Readings: []result.Reading{}, Findings: listed(s.Findings), Consistency: result.NewConsistency(c)}
	if s.File != "" {
		doc.Touchstone = &s.File
	} else {
		m := s.Sweep.Document()
		doc.Jig, doc.Calibration, doc.Readings, doc.RestsOn = &m.Jig, m.Calibration, m.Readings, m.RestsOn
	}
	if s.Part != "" {
		doc.Part = &s.Part
	}
	return doc
}
