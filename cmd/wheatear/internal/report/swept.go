package report

import (
	"bytes"
	"fmt"
	"io"
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/touchstone"
	"example.org/wheatear/lockin/uncertain"
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
		if !r.Trusted || z.State != impedance.OK || !valued(z.Re) || !valued(z.Im) {
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
		if math.IsInf(cabs(z), 0) || z == 0 || n.FreqHz[i] == 0 {
			out.Left++
			continue
		}
		out.Data.FreqHz, out.Data.Z = append(out.Data.FreqHz, n.FreqHz[i]), append(out.Data.Z, z)
	}
	return out
}

// title names the part.
func (s *Swept) title() string {
	switch {
	case s.File != "":
		return s.File
	case s.Part != "":
		return s.Part
	}
	return s.source()
}

// begin writes what the sweep is.
func (s *Swept) begin(b *bytes.Buffer) {
	if s.File == "" {
		s.heading(b)
		_ = text.Write(b, []block.Block{block.Headline{Title: tell.Points(s.Document())}}, text.Look{}) // into memory
		return
	}
	n := len(s.Data.FreqHz)
	line := fmt.Sprintf("%s, a Touchstone file: %s from %s to %s, uncertainty not known", s.File,
		plural(n, "point"), Tie(place(s.Data.FreqHz[0])), Tie(place(s.Data.FreqHz[n-1])))
	if s.Left > 0 {
		line += fmt.Sprintf("; %s left out: direct current, an open or no impedance at all", plural(s.Left, "point"))
	}
	Wrap(b, "", line)
}

// note is what begin says, on one line.
func (s *Swept) note() string {
	if s.File != "" {
		return "a Touchstone file; uncertainty not known"
	}
	return s.correction()
}

// finish writes the findings.
func (s *Swept) finish(w io.Writer, b *bytes.Buffer) error {
	if len(s.Findings) > 0 {
		fmt.Fprintln(b)
		Findings(b, s.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// sweptDoc is what the schemas of fitted sweeps have in common.
type sweptDoc struct {
	Jig         *string           `json:"jig"`
	Calibration *string           `json:"calibration"`
	Part        *string           `json:"part"`
	Touchstone  *string           `json:"touchstone"`
	Points      int               `json:"points"`
	Consistency *consistencyDoc   `json:"consistency"`
	Readings    []readingDoc      `json:"readings"`
	Findings    []finding.Finding `json:"findings"`
}

type consistencyDoc struct {
	Verdict     circuit.Cause `json:"verdict"`
	Words       string        `json:"words"`
	Rms         float64       `json:"rms"`
	ChiSquare   *float64      `json:"chi_square"`
	Dof         int           `json:"dof"`
	Probability *float64      `json:"probability"`
}

func (s *Swept) sweptDoc(c *circuit.Consistency) sweptDoc {
	doc := sweptDoc{Points: len(s.Data.FreqHz), Readings: []readingDoc{}, Findings: listed(s.Findings)}
	if s.File != "" {
		doc.Touchstone = &s.File
	} else {
		m := s.Sweep.Document()
		doc.Jig, doc.Calibration, doc.Readings = &m.Jig, m.Calibration, m.Readings
	}
	if s.Part != "" {
		doc.Part = &s.Part
	}
	if c != nil {
		doc.Consistency = &consistencyDoc{c.Verdict, c.Words(), c.Rms, orNull(c.ChiSquare), c.Dof, orNull(c.Probability)}
	}
	return doc
}

// read are the readings as they are drawn.
func (s *Swept) read(pick func(r impedance.Reading) uncertain.Quantity, plain func(z complex128) float64) plot.Series {
	out := plot.Series{Name: "reading with its 95 % interval", Style: plot.Dots}
	if s.File != "" {
		out.Name = "reading"
		for i, z := range s.Data.Z {
			out.X = append(out.X, s.Data.FreqHz[i])
			out.Y = append(out.Y, plot.Exactly([]float64{plain(z)})...)
		}
		return out
	}
	for _, r := range s.Readings {
		if r.Trusted && r.Corrected.Reading.State == impedance.OK {
			out.X, out.Y = append(out.X, r.Corrected.Reading.FreqHz.Value), append(out.Y, pick(r.Corrected.Reading))
		}
	}
	return out
}
