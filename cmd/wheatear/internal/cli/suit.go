package cli

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/stimulus"
)

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

// suitedBy chooses the frequency for the part that is in the jig; where a short look does
// not show what that is, the one nearest to 1 kHz.
func (a *app) suitedBy(w *work, file string, cal *fixture.Calibration, name string) (*predict.Suited, stimulus.ToneRequest, error) {
	setup, err := a.setupOf(file, w.jig, cal)
	if err != nil {
		return nil, stimulus.ToneRequest{}, err
	}
	look, err := w.LookAt(a.ctx, setup, cal, lookName(name))
	a.progress.clear()
	if err != nil {
		return nil, stimulus.ToneRequest{}, err
	}
	at, s, err := look.Suit(setup, cal)
	switch {
	case err != nil:
	case s == nil:
		a.say("A short look does not show what the part is; it is read at %s.", placeText(at.FreqHz))
	default:
		a.say("%s", whySuited(s, "by a short look"))
	}
	return s, at, err
}

// lookName is what the record of a look is called.
func lookName(part string) string { return strings.TrimSpace("look at " + part) }

// whySuited says which frequency was chosen for what, who names it, and what the standards
// would have beyond the card.
func whySuited(s *predict.Suited, by string) string {
	var b strings.Builder
	c := result.NewChosen(s)
	fmt.Fprintf(&b, "Frequency: %s, for %s of about %s %s", placeText(s.FreqHz), withArticle(c.Kind), parts.Words(twoDigits(c.Value), s.Part.Type.Unit()), by)
	if c.NamedBy != "" {
		fmt.Fprintf(&b, " (%s)", c.NamedBy)
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

func twoDigits(v float64) float64 {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64)
	if err != nil {
		return v
	}
	return short
}

// suitMeasurement fills in the frequency that nobody named, once the part is in the jig.
// A calibration of the bench is looked for anew where the one at hand does not have it.
func (a *app) suitMeasurement(f *measureFlags, w *work, cal *fixture.Calibration) (stimulus.ToneRequest, error) {
	if len(f.expect.readings) == 0 {
		s, at, err := a.suitedBy(w, f.jig, cal, f.part)
		f.chosen = result.NewChosen(s)
		return at, err
	}
	s, err := a.suitedFor(parts.Likeliest(f.expect.readings, f.expect.text), f.jig, w.jig, cal)
	if err != nil {
		return stimulus.ToneRequest{}, errors.Join(err, usagef("no frequency can be chosen by --expect %s: name one with --at", f.expect.text))
	}
	f.chosen = result.NewChosen(s)
	return live.Tone(s.FreqHz, cal), nil
}
