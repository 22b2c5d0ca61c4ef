package page

import (
	"slices"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/uncertain"
)

// SweepView is the sweep as a page draws it.
type SweepView struct {
	Part   string        `json:"part"`
	Begun  time.Time     `json:"begun"`
	Asked  int           `json:"points_asked"`
	Ends   [2]float64    `json:"ends_hz"` // the lowest and the highest frequency asked for
	Points []*SweepPoint `json:"points"`
	Told   []view.Told   `json:"findings"`
}

// SweepPoint is one point: quantities with their interval, null where there is
// nothing to draw, and the words for a table.
type SweepPoint struct {
	FreqHz  float64            `json:"frequency_hz"`
	At      string             `json:"at"`
	Trusted bool               `json:"trusted"`
	Refused string             `json:"refused"`
	Modulus uncertain.Quantity `json:"modulus_ohm"`
	Phase   uncertain.Quantity `json:"phase_rad"`
	Re      uncertain.Quantity `json:"re_ohm"`
	Im      uncertain.Quantity `json:"im_ohm"`
	Farad   uncertain.Quantity `json:"c_f"` // in series
	Henry   uncertain.Quantity `json:"l_h"`
	Loss    uncertain.Quantity `json:"d"`
	Main    uncertain.Quantity `json:"main"`
	Unit    string             `json:"unit"` // of main
	Head    view.Head          `json:"headline"`
	Lines   []Line             `json:"lines"`
}

// Sweep is the last sweep; nil where there was none.
func (b *Bench) Sweep() *SweepView {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.desk.sweepReport()
	if s == nil {
		return nil
	}
	v := &SweepView{Part: s.Part, Begun: b.desk.sweep.Begun, Asked: s.Asked, Points: []*SweepPoint{}, Told: view.Findings(tell.Findings(s.Findings))}
	freqs := b.desk.sweep.state.FrequenciesHz
	v.Ends = [2]float64{slices.Min(freqs), slices.Max(freqs)}
	doc := s.Document()
	for i := range doc.Readings {
		v.Points = append(v.Points, sweepPoint(&doc.Measurement, i))
	}
	return v
}

func sweepPoint(m *result.Measurement, i int) *SweepPoint {
	r := &m.Readings[i]
	sheet := sheetOf(&result.Measurement{Jig: m.Jig, Readings: m.Readings[i : i+1]})
	p := &SweepPoint{FreqHz: r.NominalHz, At: sheet.At, Trusted: r.Trusted, Refused: sheet.Refused, Head: sheet.Headline, Lines: sheet.Lines,
		Modulus: uncertain.Absent(), Phase: uncertain.Absent(), Main: uncertain.Absent(),
		Re: uncertain.Absent(), Im: uncertain.Absent(), Farad: uncertain.Absent(), Henry: uncertain.Absent(), Loss: uncertain.Absent()}
	if r.Trusted {
		reading := r.Reading()
		p.Modulus, p.Phase = reading.Modulus, reading.Phase
		p.Re, p.Im, p.Loss = reading.Re, reading.Im, reading.D
		p.Farad, p.Henry = reading.Series.C, reading.Series.L
		e, q := r.Main.What()
		p.Main, p.Unit = q, e.Unit()
	}
	return p
}

// sweepCopy is the report for a file.
func (b *Bench) sweepCopy() (*report.Sweep, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.desk.sweepReport()
	if s == nil || len(s.Readings) == 0 {
		return nil, notFound("there is no sweep yet")
	}
	return s, nil
}
