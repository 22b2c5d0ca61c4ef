package report

import (
	"encoding/json"
	"io"

	"example.org/wheatear/lockin/finding"
)

// Watch is a reading in one line of at most 79 columns: what it reads as, the
// level, and the gravest finding.
func Watch(m *Measurement) string {
	r := m.Readings[0]
	cells := []string{nominal(r.NominalHz)}
	switch list := equivalents(r.Corrected.Reading); {
	case !r.Trusted:
		cells = append(cells, "refused: "+r.refused())
	case len(list) > 0:
		cells = append(cells, short(list[0].main, list[0].unit), rest(list[0]))
	default:
		cells = append(cells, string(r.Corrected.Reading.State), short(r.Corrected.Reading.Modulus, "Ω"))
	}
	if r.Trusted {
		cells = append(cells, m.heardLevel(r), worst(m.Findings))
	}
	line := ""
	for _, c := range cells {
		if c != "" && width(line)+2+width(c) < Columns {
			if line != "" {
				line += "  "
			}
			line += c
		}
	}
	return line
}

// rest is the other element of an equivalent, in few words.
func rest(e equivalent) string {
	if !known(e.other) {
		return ""
	}
	link := "+ "
	if e.link == "in parallel" {
		link = "// "
	}
	return link + short(e.other, e.with)
}

// heardLevel is the voltage across the part where it is known, else what the
// louder input hears.
func (m *Measurement) heardLevel(r *Reading) string {
	if v := orNull(r.Level.VoltRMS); v != nil && m.Jig.FullScaleVolt != nil {
		return rough(*v, "V")
	}
	loudest := 0.0
	for _, o := range r.Observations {
		for _, p := range o.Analysis.Peak {
			loudest = max(loudest, p)
		}
	}
	return dbfs(loudest)
}

// worst is the code of the gravest finding that is more than a note.
func worst(findings []finding.Finding) string {
	grave := finding.Worst(findings)
	for _, f := range findings {
		if f.Severity == grave && grave != finding.Note {
			return string(f.Code)
		}
	}
	return ""
}

// MeasureLine writes readings for programs, as one line.
func MeasureLine(w io.Writer, m *Measurement) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(m.doc())
}
