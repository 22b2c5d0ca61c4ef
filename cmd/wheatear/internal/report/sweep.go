package report

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/uncertain"
)

// Sweep is what sweep has to tell: readings in the order in which they were made.
type Sweep struct {
	Measurement
	Part     string
	Asked    int     // points that were wanted
	Together bool    // all tones at once
	SignalS  float64 // seconds of recording; 0 where they are not known
}

// WriteSweep writes a sweep for people.
func WriteSweep(w io.Writer, s *Sweep) error {
	var b bytes.Buffer
	s.heading(&b)
	Wrap(&b, "", s.about())
	if len(s.Readings) > 0 {
		fmt.Fprintln(&b)
		rows := [][]string{{"", "reads as", "phase", "|Z|"}}
		for _, r := range s.Readings {
			rows = append(rows, r.sweepRow())
		}
		columns(&b, rows, padLeft)
	}
	if intervals.Match(b.Bytes()) {
		fmt.Fprintln(&b, "\n± is half of the 95 % interval; (a to b) are its ends.")
	}
	if len(s.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, s.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// sweepRow is a reading in the table, narrow enough for all columns to fit.
func (r *Reading) sweepRow() []string {
	row := r.row()
	row[0] = place(r.NominalHz)
	for i := 1; i < len(row); i++ {
		row[i] = once(row[i])
	}
	return row
}

// once writes the unit of a value and its uncertainty only behind the latter.
func once(text string) string {
	value, half, ok := strings.Cut(text, " ± ")
	space := strings.LastIndex(half, " ")
	if !ok || space < 0 {
		return text
	}
	return strings.TrimSuffix(value, half[space:]) + " ± " + half
}

// about says what was measured and how.
func (s *Sweep) about() string {
	name := s.Part
	if name == "" {
		name = s.source()
	}
	text := name + ": " + plural(len(s.Readings), "point")
	if len(s.Readings) < s.Asked {
		text = name + ": " + fmt.Sprintf("%d of %s", len(s.Readings), plural(s.Asked, "point"))
	}
	if n := len(s.Readings); n > 0 {
		text += " from " + Tie(place(s.Readings[0].NominalHz)) + " to " + Tie(place(s.Readings[n-1].NominalHz))
	}
	if s.Together {
		text += ", all tones at once"
	}
	if s.SignalS > 0 {
		text += ", " + Tie(strconv.FormatFloat(s.SignalS, 'f', 1, 64)+" s") + " of recording"
	}
	return text
}

// place writes a frequency with five digits, which tell the points of any sweep
// apart; in full they are in JSON and CSV.
func place(freqHz float64) string {
	five, err := strconv.ParseFloat(strconv.FormatFloat(freqHz, 'g', 5, 64), 64)
	if err != nil {
		five = freqHz
	}
	return uncertain.Format(five, 0, "Hz")
}

// Figure is the sweep as it is drawn.
func (s *Sweep) Figure() *plot.Figure {
	f := &plot.Figure{Title: s.Part}
	if f.Title == "" {
		f.Title = s.source()
	}
	f.Note = s.correction()
	for _, r := range s.Readings {
		f.Points = append(f.Points, plot.Point{FreqHz: r.NominalHz, Reading: r.Corrected.Reading, Trusted: r.Trusted})
	}
	return f
}

// Plane is the sweep in the plane of complex numbers.
func (s *Sweep) Plane() *plot.Chart {
	line := plot.Series{Name: "reading, by rising frequency", Style: plot.Band}
	f := s.Figure()
	for _, p := range f.Points {
		if p.Trusted {
			re, im := p.Reading.Re.Value, p.Reading.Im
			line.X, line.Y = append(line.X, re), append(line.Y, im)
		}
	}
	return &plot.Chart{Title: f.Title, Note: f.Note, X: plot.Scale{Name: "resistance", Unit: "Ω"},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "reactance", Unit: "Ω"}, Series: []plot.Series{line}, Square: true}}}
}

// correction is the heading on one line.
func (m *Measurement) correction() string {
	var b bytes.Buffer
	m.heading(&b)
	return string(bytes.Join(bytes.Fields(b.Bytes()), []byte(" ")))
}
