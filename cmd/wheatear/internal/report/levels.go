package report

import (
	"math/cmplx"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/level"
)

// LevelStudy is a part at one frequency, the readings in the
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

// Document is the study as it is printed, kept and told.
func (l *LevelStudy) Document() *result.Levels {
	m := l.Measurement.Document()
	doc := &result.Levels{Schema: result.LevelsSchema, Jig: m.Jig, Calibration: m.Calibration, As: m.As, Readings: m.Readings, Findings: m.Findings,
		Reasons: []string{}, Harmonics: [][]result.Harmonic{}, RestsOn: m.RestsOn, Relative: l.Jig.FullScaleVolt == nil}
	if l.Part != "" {
		doc.Part = &l.Part
	}
	for _, p := range l.Points {
		list := []result.Harmonic{}
		for _, h := range p.Harmonics {
			list = append(list, result.Harmonic{Order: h.Order, Relative: cmplx.Abs(h.Relative), U: h.U})
		}
		doc.Harmonics = append(doc.Harmonics, list)
		doc.Points = append(doc.Points, p.document())
	}
	s := l.Study
	if s == nil {
		return doc
	}
	doc.Quantity, doc.Unit, doc.Zero, doc.Law = &s.Main.Name, &s.Main.Unit, &s.Main.Zero, &s.Main.Law
	doc.Change, doc.ChangeU, doc.Used = orNull(s.Main.Change), orNull(s.Main.ChangeU), s.Main.Used
	doc.Kind, doc.Confidence, doc.Reasons = &s.Kind, &s.Confidence, s.Reasons
	if s.Onset.VoltRMS > 0 {
		if onset := levelOf(s.Onset); doc.Relative {
			doc.OnsetRelative = &onset
		} else {
			doc.Onset = onset
		}
	}
	return doc
}

// document is the level of a reading, or why it cannot be used.
func (p LevelPoint) document() result.LevelPoint {
	if p.Point != nil {
		return result.LevelPoint{Level: levelOf(p.Point.Level)}
	}
	if text := p.Reading.refused(); text != "" {
		return result.LevelPoint{Refused: text}
	}
	_, text, _ := strings.Cut(p.Refused.Error(), ": ")
	return result.LevelPoint{Refused: text}
}

func levelOf(l fixture.PartLevel) result.Level {
	return result.Level{PartVRMS: orNull(l.VoltRMS), PartARMS: orNull(l.AmpereRMS)}
}
