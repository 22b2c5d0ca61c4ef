package cli

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/stimulus"
)

// glimpse is a short look at a part: readings at several frequencies of one record, and
// what follows from them.
type glimpse struct {
	*report.Measurement
	part  predict.Part
	known bool // the readings show what the part is
}

// lookAt plays several tones at once for a short time and reads the part at each. What
// spoils the readings is among their findings.
func (a *app) lookAt(w *work, setup *predict.Setup, cal *fixture.Calibration, name string) (*glimpse, error) {
	plan, err := w.Brief(a.ctx, setup.LookTones(calibratedHz(cal)))
	if err != nil {
		return nil, err
	}
	t, err := w.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: strings.TrimSpace("look at " + name)}, plan)
	a.progress.clear()
	if err != nil {
		return nil, err
	}
	m, err := a.liveReadings(measureFlags{}, w.jig, cal, []fixture.Observation{t.Observation}, live.Frequencies(plan))
	if err != nil {
		return nil, err
	}
	if t.Driver != nil {
		m.Findings = append(m.Findings, *t.Driver)
	}
	g := &glimpse{Measurement: m}
	g.part, g.known = predict.Recognize(g.readings())
	return g, nil
}

// readings are those that can be trusted.
func (g *glimpse) readings() (out []impedance.Reading) {
	for _, r := range g.Readings {
		if r.Trusted {
			out = append(out, r.Corrected.Reading)
		}
	}
	return out
}

func calibratedHz(cal *fixture.Calibration) []float64 {
	if cal == nil {
		return nil
	}
	return cal.Frequencies()
}

// setupOf is a jig with what is known of its card, for choosing a frequency.
func (a *app) setupOf(file string, jig *fixture.Jig, cal *fixture.Calibration) (*predict.Setup, error) {
	f := planFlags{jig: file}
	s, err := f.setup(jig)
	if err == nil {
		s.Uncalibrated = cal == nil
	}
	return s, err
}

// suitedFor chooses the frequency for a part that is expected.
func (a *app) suitedFor(m parts.Marking, file string, jig *fixture.Jig, cal *fixture.Calibration) (*predict.Suited, error) {
	setup, err := a.setupOf(file, jig, cal)
	if err != nil {
		return nil, err
	}
	p, err := predict.NewPart(m, "")
	if err != nil {
		return nil, err
	}
	s, err := setup.Suit(p, nil, calibratedHz(cal))
	if err != nil {
		return nil, err
	}
	a.say("%s", whySuited(s, "as expected"))
	return s, nil
}

// suitedBy chooses the frequency for the part that is in the jig; nil with the nearest
// frequency to 1 kHz where a look at it does not show what it is.
func (a *app) suitedBy(w *work, file string, cal *fixture.Calibration, name string) (*predict.Suited, stimulus.ToneRequest, error) {
	setup, err := a.setupOf(file, w.jig, cal)
	if err != nil {
		return nil, stimulus.ToneRequest{}, err
	}
	g, err := a.lookAt(w, setup, cal, name)
	if err != nil {
		return nil, stimulus.ToneRequest{}, err
	}
	if !g.known {
		hz := g.usual()
		a.say("A short look does not show what the part is; it is read at %s.", placeText(hz))
		return nil, tone(hz, cal), nil
	}
	s, err := setup.Suit(g.part, g.readings(), calibratedHz(cal))
	if err != nil {
		return nil, stimulus.ToneRequest{}, err
	}
	a.say("%s", whySuited(s, "by a short look"))
	return s, tone(s.FreqHz, cal), nil
}

// usual is the frequency of the look that is nearest to 1 kHz.
func (g *glimpse) usual() float64 {
	if len(g.frequencies()) == 0 {
		return 1e3
	}
	return g.Readings[g.nearest(1e3)].NominalHz
}

// tone asks for a frequency: exactly where it is calibrated, else as it may be moved.
func tone(hz float64, cal *fixture.Calibration) stimulus.ToneRequest {
	_, calibrated := nearest(calibratedHz(cal), hz, 1e-6)
	return stimulus.ToneRequest{FreqHz: hz, Movable: !calibrated}
}

// whySuited says which frequency was chosen for what, who names it, and what the standards
// would have beyond the card.
func whySuited(s *predict.Suited, by string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Frequency: %s, for %s of about %s %s", placeText(s.FreqHz), withArticle(string(s.Part.Kind)), parts.Words(twoDigits(s.Part.Value), unitOf(s.Part.Kind)), by)
	if name := namedBy(s); name != "" {
		fmt.Fprintf(&b, " (%s)", name)
	}
	b.WriteString(".")
	if s.Beyond != nil {
		fmt.Fprintf(&b, " %s names %s, which this card does not play; %s is the nearest suitable one that it plays.", s.Beyond.Standard, placeText(s.Beyond.FreqsHz[0]), placeText(s.MeantHz))
	}
	return b.String()
}

func withArticle(noun string) string {
	if strings.ContainsAny(noun[:1], "aeiou") {
		return "an " + noun
	}
	return "a " + noun
}

// namedBy says which standard or habit names the frequency.
func namedBy(s *predict.Suited) string {
	switch s.Condition.Standard {
	case "":
		return ""
	case "none":
		return "common practice"
	}
	return s.Condition.Standard
}

func twoDigits(v float64) float64 {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64)
	if err != nil {
		return v
	}
	return short
}

func unitOf(kind impedance.Kind) parts.Unit {
	switch kind {
	case impedance.Capacitor:
		return parts.Farad
	case impedance.Inductor:
		return parts.Henry
	}
	return parts.Ohm
}

// chosenDocument is the choice as documents keep it; nil where there was none.
func chosenDocument(s *predict.Suited) *result.Chosen {
	if s == nil {
		return nil
	}
	c := &result.Chosen{Kind: string(s.Part.Kind), Value: s.Part.Value, Unit: unitOf(s.Part.Kind).String(), MeantHz: s.MeantHz, NamedBy: namedBy(s)}
	if s.Beyond != nil {
		c.BeyondHz, c.BeyondBy = &s.Beyond.FreqsHz[0], s.Beyond.Standard
	}
	return c
}

// suitMeasurement fills in the frequency that nobody named, once the part is in the jig.
// A calibration of the bench is looked for anew where the one at hand does not have it.
func (a *app) suitMeasurement(f *measureFlags, w *work, cal *fixture.Calibration) (stimulus.ToneRequest, error) {
	if len(f.expect.readings) == 0 {
		s, at, err := a.suitedBy(w, f.jig, cal, f.part)
		f.chosen = chosenDocument(s)
		return at, err
	}
	s, err := a.suitedFor(parts.Likeliest(f.expect.readings, f.expect.text), f.jig, w.jig, cal)
	if err != nil {
		return stimulus.ToneRequest{}, errors.Join(err, usagef("no frequency can be chosen by --expect %s: name one with --at", f.expect.text))
	}
	f.chosen = chosenDocument(s)
	return tone(s.FreqHz, cal), nil
}
