package page

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"strconv"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/uncertain"
)

// Update is one live reading as the pages are told of it.
type Update struct {
	Schema  string          `json:"schema"`
	N       int64           `json:"n"` // counts up
	Time    time.Time       `json:"time"`
	Part    string          `json:"part"`
	FreqHz  float64         `json:"frequency_hz"`
	Sheet   *Sheet          `json:"sheet"`
	Way     []Line          `json:"way"` // how it became impedance
	Why     string          `json:"why"` // this frequency; empty where it was named
	Heard   *Heard          `json:"heard"`
	Point   *TrendPoint     `json:"point"`             // new in the trend; null for none
	Doubts  []view.Told     `json:"doubts,omitempty"`  // of a standard
	RawOhm  *float64        `json:"raw_ohm,omitempty"` // |Z| of a standard, not corrected; null for an open beyond any figure
	Measure json.RawMessage `json:"measure,omitempty"` // wheatear.measure/1
}

const updateSchema = "wheatear.live/1"

// liveTrials of the Monte Carlo run: the ends of an interval move by a few per cent
// of it, which ten readings a second show anyway. Kept readings take more.
const liveTrials = 1000

// reader turns stretches of a stream into updates.
type reader struct {
	bench   *Bench
	desk    *desk
	session *live.Session
	plan    *stimulus.Plan
	what    live.Subject
	guided  bool // it is a standard that is looked at
	question
	n      int
	meter  windowed
	follow live.Follower
}

// show reads one stretch and tells the pages.
func (r *reader) show(sig record.Signal) error {
	o, err := r.session.Observe(r.what, r.plan, sig)
	if err != nil {
		return err
	}
	u := &Update{Schema: updateSchema, Time: r.bench.opts.Now(), Part: r.what.String(), FreqHz: r.plan.Tones[0].FreqHz}
	if !r.guided {
		r.follow.See(r.desk.jig, &o, live.Frequencies(r.plan))
	}
	if r.guided {
		doubts, err := r.session.DoubtsOf(o, live.Frequencies(r.plan))
		if err != nil {
			return err
		}
		u.Doubts = view.Findings(tell.Findings(doubts))
		u.RawOhm = rawOhm(r.desk.jig, o, u.FreqHz)
	}
	if err := r.read(u, o); err != nil {
		return err
	}
	u.Heard = r.heard(o.Analysis)
	const spectrumEvery = 3
	if r.n%spectrumEvery == 0 {
		u.Heard.Spectrum = r.meter.of(sig, o.Analysis)
	}
	r.n++
	r.bench.publish(u)
	return nil
}

// read fills in the reading. A standard is read like a part, to show what is seen.
func (r *reader) read(u *Update, o fixture.Observation) error {
	o.Role, o.Load = fixture.PartRole, nil
	r.bench.mu.Lock()
	jig, cal := r.desk.jig, r.desk.cal
	opt := r.bench.readingOptions(r.desk)
	r.bench.mu.Unlock()
	if r.guided {
		cal = nil // it is about to be made anew
	}
	opt.Card, opt.Reading = r.session.Card(), impedance.Config{Trials: liveTrials}
	m, reading, err := measured(jig, cal, []fixture.Observation{o}, u.FreqHz, opt, r.question)
	if err != nil {
		return err
	}
	doc := m.Document()
	u.Sheet, u.Way = sheetOf(doc), way(jig, o, reading)
	u.Why = (&typeset.Setter{}).Text(tell.WhyChosen(doc.Chosen))
	var text bytes.Buffer
	if err := result.WriteLine(&text, doc); err != nil {
		return err
	}
	u.Measure = text.Bytes()
	u.Point = point(u.Time, &doc.Readings[0])
	return nil
}

// measured is a reading with its budget, of what is asked.
func measured(jig *fixture.Jig, cal *fixture.Calibration, obs []fixture.Observation, freqHz float64, opt fixture.Options, q question) (*report.Measurement, *report.Reading, error) {
	m := &report.Measurement{Jig: jig, Cal: cal, Budget: true, As: q.as, Expected: q.expected, Chosen: q.chosen}
	if cal != nil {
		m.Calibration = calibrationName
	}
	for _, o := range obs {
		m.Files = append(m.Files, o.File)
	}
	c, err := live.Measure(jig, cal, obs, freqHz, opt)
	if err != nil {
		return nil, nil, err
	}
	r := &report.Reading{Corrected: c, Observations: obs}
	if c.Trusted {
		if r.Result, err = c.Propagate(); err != nil {
			return nil, nil, err
		}
	}
	if len(q.expected) > 0 {
		if r.Judgement, err = c.Judge(q.expected, parts.Rule{}, opt.Reading); err != nil {
			return nil, nil, err
		}
	}
	m.Readings = []*report.Reading{r}
	m.AddFindings(c.Findings)
	return m, r, nil
}

// way tells in three lines how two voltages became an impedance.
func way(jig *fixture.Jig, o fixture.Observation, r *report.Reading) []Line {
	tone := o.Analysis.Tone(r.NominalHz)
	if tone == nil || len(tone.Phasors) < 2 {
		return []Line{}
	}
	p, q := jig.Channels.Inverse(tone.Phasors[0], tone.Phasors[1])
	lines := []Line{{Name: "V(part)/V(reference)", Text: polar(p/q, "")}}
	if raw := p / q * complex(jig.ReferenceOhm, 0); finite(raw) {
		lines = append(lines, Line{Name: "× reference", Text: polar(raw, "Ω")})
	}
	if z := r.Corrected.Reading; r.Trusted && z.State == impedance.OK {
		lines = append(lines, Line{Name: "corrected", Text: written(block.Of(z.Modulus, "Ω")) + " ∠ " + written(block.Of(z.Phase, "rad"))})
	}
	return lines
}

// rawOhm is |Z| as the two voltages and the reference have it; nil for none.
func rawOhm(jig *fixture.Jig, o fixture.Observation, freqHz float64) *float64 {
	tone := o.Analysis.Tone(freqHz)
	if tone == nil || len(tone.Phasors) < 2 {
		return nil
	}
	p, q := jig.Channels.Inverse(tone.Phasors[0], tone.Phasors[1])
	ohm := cmplx.Abs(p/q) * jig.ReferenceOhm
	if math.IsNaN(ohm) || math.IsInf(ohm, 0) {
		return nil
	}
	return &ohm
}

func finite(z complex128) bool { return !cmplx.IsNaN(z) && !cmplx.IsInf(z) }

// polar writes a phasor roughly, with three figures: its uncertainty is told
// elsewhere.
func polar(z complex128, unit string) string {
	if !finite(z) {
		return "—"
	}
	three, err := strconv.ParseFloat(strconv.FormatFloat(cmplx.Abs(z), 'e', 2, 64), 64)
	if err != nil {
		return "—"
	}
	angle := fmt.Sprintf("%.1f°", cmplx.Phase(z)*180/math.Pi)
	return uncertain.Format(three, 0, unit) + " ∠ " + strings.Replace(angle, "-", "\u2212", 1)
}

// publish tells an update to all and keeps it as the last.
func (b *Bench) publish(u *Update) {
	b.mu.Lock()
	b.live.n++
	u.N = b.live.n
	u.Point = b.live.trend.add(u.Part, u.Point)
	b.live.last = u
	b.mu.Unlock()
	b.counts.updates.Add(1)
	told := *u
	told.Measure = nil // whoever wants it asks for it
	b.hub.send("live", &told)
}
