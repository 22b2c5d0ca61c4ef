package report

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"example.org/wheatear/lockin/touchstone"
)

// TouchstoneForm is what the name of a file asks for: plain ohms where it ends in .z1p.
func TouchstoneForm(file string) touchstone.Form {
	if strings.EqualFold(filepath.Ext(file), ".z1p") {
		return touchstone.Ohms
	}
	return touchstone.Scattering
}

// SweepTouchstone writes a sweep for circuit simulators: what can be trusted, by
// rising frequency. What is left out, and how far the figures can be trusted, is in
// comments.
func SweepTouchstone(w io.Writer, s *Sweep, form touchstone.Form) error {
	name := s.Part
	if name == "" {
		name = s.source()
	}
	n := &touchstone.Network{Comments: []string{name, s.correction()}}
	readings := slices.Clone(s.Readings)
	slices.SortFunc(readings, func(a, b *Reading) int {
		if a.NominalHz < b.NominalHz {
			return -1
		}
		return 1
	})
	for _, r := range readings {
		z := r.Corrected.Reading
		if !r.Trusted || !known(z.Re) || !known(z.Im) {
			n.Comments = append(n.Comments, fmt.Sprintf("%s left out: no value that can be trusted", nominal(r.NominalHz)))
			continue
		}
		n.FreqHz = append(n.FreqHz, r.NominalHz)
		n.Ohm = append(n.Ohm, complex(z.Re.Value, z.Im.Value))
	}
	n.Comments = append(n.Comments, s.worstU()...)
	return touchstone.Write(w, n, form)
}

// worstU says how far the figures can be trusted.
func (s *Sweep) worstU() []string {
	worst, at := 0.0, 0.0
	for _, r := range s.Readings {
		m := r.Corrected.Reading.Modulus
		if u := (m.High - m.Low) / 2 / m.Value; r.Trusted && known(m) && u > worst {
			worst, at = u, r.NominalHz
		}
	}
	if worst == 0 {
		return nil
	}
	return []string{fmt.Sprintf("|Z| within %.2g %% or better (95 %%), worst at %s", 100*worst, nominal(at))}
}
