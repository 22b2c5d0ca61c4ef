package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/uncertain"
)

// LevelStudy is what level has to tell: a part at one frequency, the readings in the
// order in which they were made.
type LevelStudy struct {
	Measurement
	Part   string
	Points []LevelPoint
	Study  *level.Study // nil where too few readings can be trusted
}

// LevelPoint is a reading with the harmonics of the part.
type LevelPoint struct {
	Reading   *Reading
	Harmonics []fixture.Harmonic
	Point     *level.Point // nil where the reading cannot be used
	Refused   error        // why it cannot
}

// WriteLevels writes it for people.
func WriteLevels(w io.Writer, l *LevelStudy) error {
	var b bytes.Buffer
	l.heading(&b)
	Wrap(&b, "", l.about())
	fmt.Fprintln(&b)
	columns(&b, l.rows(), padLeft)
	if s := l.Study; s != nil {
		fmt.Fprintln(&b)
		Wrap(&b, "", l.verdict())
		for _, reason := range s.Reasons {
			Wrap(&b, "  - ", upper(reason)+".")
		}
		fmt.Fprintln(&b)
		Wrap(&b, "", l.zero())
	}
	fmt.Fprintln(&b, "\n± is half of the 95 % interval; (a to b) are its ends.")
	if len(l.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, l.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

func (l *LevelStudy) about() string {
	name := l.Part
	if name == "" {
		name = l.source()
	}
	text := name + ": " + plural(len(l.Readings), "level")
	if len(l.Readings) > 0 {
		text += " at " + Tie(place(l.Readings[0].NominalHz))
	}
	return text
}

// element is what all levels are told by.
func (l *LevelStudy) element() impedance.Element {
	var list []impedance.Reading
	for _, r := range l.Readings {
		list = append(list, r.Corrected.Reading)
	}
	return impedance.MainOf(list, l.As)
}

// rows are the readings, a line each, below their heads.
func (l *LevelStudy) rows() [][]string {
	e := l.element()
	rows := [][]string{{"at the part", "", e.Words(), "2nd", "3rd", "D"}}
	for _, p := range l.Points {
		if p.Point == nil {
			rows = append(rows, []string{"", "", "refused: " + p.refused()})
			continue
		}
		row := []string{l.volts(p.Point.Level.VoltRMS), l.amperes(p.Point.Level.AmpereRMS), "—", "", "", ""}
		r := p.Point.Reading
		if q := e.In(r); known(q) {
			row[2] = once(short(q, e.Unit()))
		}
		if known(r.D) && math.Abs(r.D.Value) < 10 {
			row[5] = once(short(r.D, ""))
		}
		for _, h := range p.Harmonics {
			if h.Order == 2 || h.Order == 3 {
				row[1+h.Order] = ownDecibels(h)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// refused says why a reading cannot be used: its findings, or what it is.
func (p LevelPoint) refused() string {
	if text := p.Reading.refused(); text != "" {
		return text
	}
	_, text, _ := strings.Cut(p.Refused.Error(), ": ")
	return text
}

// volts and amperes are levels: absolute where full scale is known.
func (l *LevelStudy) volts(v float64) string { return voltLevel(l.Jig, v) }

func voltLevel(jig *fixture.Jig, v float64) string {
	if jig.FullScaleVolt == nil {
		return fmt.Sprintf("−%.1f dBFS", -20*math.Log10(v*math.Sqrt2))
	}
	return uncertain.Format(round3(v), 0, "V")
}

func (l *LevelStudy) amperes(v float64) string {
	if l.Jig.FullScaleVolt == nil {
		return ""
	}
	return uncertain.Format(round3(v), 0, "A")
}

// round3 keeps three digits: levels are settings, not results.
func round3(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// ownDecibels is a harmonic of the part, or what it stays below.
func ownDecibels(h fixture.Harmonic) string {
	return harmonicOf(ownHarmonicDoc{h.Order, cmplx.Abs(h.Relative), h.U})
}

// harmonicOf is the same of a harmonic in a document.
func harmonicOf(h ownHarmonicDoc) string {
	const sure, bound = 5, 3
	if h.Relative > sure*h.U {
		return fmt.Sprintf("−%.0f dB", -20*math.Log10(h.Relative))
	}
	return fmt.Sprintf("< −%.0f dB", -20*math.Log10(math.Max(h.Relative+bound*h.U, 1e-12)))
}

// verdict names the kind.
func (l *LevelStudy) verdict() string {
	s := l.Study
	text := "Kind: " + string(s.Kind) + ", confidence " + string(s.Confidence) + "."
	if s.Onset.VoltRMS > 0 {
		text += " It departs from what it is at the lowest level from " + Tie(l.volts(s.Onset.VoltRMS)) + " on."
	}
	return text
}

// zero says what the part would be without a level.
func (l *LevelStudy) zero() string {
	c := l.Study.Main
	text := c.Name + " at level zero: " + Tie(short(c.Zero, c.Unit))
	switch {
	case c.Law == level.Constant && c.Used == len(c.Level):
		return text + ". It does not depend on level as far as can be told."
	case c.Used < len(c.Level):
		text += fmt.Sprintf(", from the lowest %d of %d levels", c.Used, len(c.Level))
	}
	if c.Law != level.Constant {
		text += "; it changes " + string(c.Law)
	}
	return text + ". At the highest level it is " + times(c) + "."
}

// times is what a curve has become at its highest level.
func times(c level.Curve) string {
	if math.Abs(c.Change) > 0.5 {
		return fmt.Sprintf("%.2g times that", 1+c.Change)
	}
	q := uncertain.Quantity{Value: 100 * math.Abs(c.Change), U: 100 * c.ChangeU,
		Low: 100 * (math.Abs(c.Change) - 1.96*c.ChangeU), High: 100 * (math.Abs(c.Change) + 1.96*c.ChangeU)}
	if c.Change < 0 {
		return Tie(once(short(q, "%"))) + " lower"
	}
	return Tie(once(short(q, "%"))) + " higher"
}

// upper begins a sentence.
func upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// Chart is the study as it is drawn.
func (l *LevelStudy) Chart() *plot.Chart {
	c := &plot.Chart{Title: loose(l.about()), X: plot.Scale{Name: "level at the part, rms", Unit: "V", Log: true}}
	c.Note = l.correction()
	main := l.Study.Main
	if main.Name == "L" {
		c.X.Unit = "A"
	}
	if l.Jig.FullScaleVolt == nil {
		c.X.Name, c.X.Unit = "level at the part, relative", ""
	}
	const reading = "reading with its 95 % interval"
	ends := []float64{main.Level[0], main.Level[len(main.Level)-1]}
	zero := plot.Series{Name: "carried to level zero", X: ends, Y: plot.Exactly([]float64{main.Zero.Value, main.Zero.Value}), Style: plot.Dashed}
	c.Panels = []plot.ChartPanel{
		{Y: plot.Scale{Name: quantityName(main.Name), Unit: main.Unit}, Height: 2, Series: []plot.Series{{Name: reading, X: main.Level, Y: main.Values, Style: plot.Band}, zero}},
	}
	if loss := l.Study.Loss; len(loss.Level) > 0 {
		c.Panels = append(c.Panels, plot.ChartPanel{Y: plot.Scale{Name: quantityName(loss.Name), Unit: loss.Unit},
			Series: []plot.Series{{Name: reading, X: loss.Level, Y: loss.Values, Style: plot.Band}}})
	}
	return c
}

func quantityName(letter string) string {
	return map[string]string{"C": "capacitance, series", "L": "inductance, series", "R": "resistance, series", "D": "dissipation factor", "X": "reactance"}[letter]
}

// levelsDoc is the schema wheatear.level/1.
type levelsDoc struct {
	Schema      string              `json:"schema"`
	Jig         string              `json:"jig"`
	Calibration *string             `json:"calibration"`
	Part        *string             `json:"part"`
	Quantity    *string             `json:"quantity"`
	Unit        *string             `json:"unit"`
	Zero        *uncertain.Quantity `json:"zero"`
	Law         *level.Law          `json:"law"`
	Change      *float64            `json:"change"`
	ChangeU     *float64            `json:"change_u"`
	Onset       levelDoc            `json:"onset"`
	Kind        *level.Kind         `json:"kind"`
	Confidence  *level.Confidence   `json:"confidence"`
	Reasons     []string            `json:"reasons"`
	Readings    []readingDoc        `json:"readings"`
	Harmonics   [][]ownHarmonicDoc  `json:"harmonics"`
	Findings    []finding.Finding   `json:"findings"`
}

type ownHarmonicDoc struct {
	Order    int     `json:"order"`
	Relative float64 `json:"relative"`
	U        float64 `json:"u"`
}

// LevelsJSON writes it for programs.
func LevelsJSON(w io.Writer, l *LevelStudy) error {
	m := l.Document()
	doc := levelsDoc{Schema: "wheatear.level/1", Jig: m.Jig, Calibration: m.Calibration, Readings: m.Readings, Findings: m.Findings, Reasons: []string{}, Harmonics: [][]ownHarmonicDoc{}}
	if l.Part != "" {
		doc.Part = &l.Part
	}
	for _, p := range l.Points {
		list := []ownHarmonicDoc{}
		for _, h := range p.Harmonics {
			list = append(list, ownHarmonicDoc{h.Order, cmplx.Abs(h.Relative), h.U})
		}
		doc.Harmonics = append(doc.Harmonics, list)
	}
	if s := l.Study; s != nil {
		doc.Quantity, doc.Unit, doc.Zero, doc.Law = &s.Main.Name, &s.Main.Unit, &s.Main.Zero, &s.Main.Law
		doc.Change, doc.ChangeU = orNull(s.Main.Change), orNull(s.Main.ChangeU)
		doc.Kind, doc.Confidence, doc.Reasons = &s.Kind, &s.Confidence, s.Reasons
		if s.Onset.VoltRMS > 0 && l.Jig.FullScaleVolt != nil {
			doc.Onset = levelDoc{PartVRMS: orNull(s.Onset.VoltRMS), PartARMS: orNull(s.Onset.AmpereRMS)}
		}
	}
	return writeJSON(w, doc)
}
