package cli

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// quick reports whether a short look is meant: nothing was said of how to sweep.
func (f *fittedFlags) quick() bool {
	return !f.thorough && f.at == "" && f.file == "" && len(f.recordings) == 0 && f.plot == "" && f.plane == "" && f.to.value == 0 && f.within.value == 0
}

// identifyQuickly says what a part is by one short record of several tones.
func (a *app) identifyQuickly(f fittedFlags) error {
	if err := a.takeBench(&f.jig, &f.calibration, frequencies{}, nil); err != nil {
		return err
	}
	jig, err := readJig(f.jig)
	if err != nil {
		return err
	}
	cal, err := readCalibration(f.calibration)
	if err != nil {
		return err
	}
	w, err := a.openSession(f.jig, jig, f.live, "identify "+f.part)
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	w.SetReading(a.readingOptions(cal))
	if err := putPart(w, f.part); err != nil {
		return err
	}
	setup, err := a.setupOf(f.jig, jig, cal)
	if err != nil {
		return err
	}
	look, err := w.LookAt(a.ctx, setup, cal, lookName(f.part))
	a.progress.clear()
	if err != nil {
		return err
	}
	m, err := a.liveReadings(measureFlags{calibration: f.calibration}, jig, cal, []fixture.Observation{look.Take.Observation}, look.FreqsHz)
	if err != nil {
		return err
	}
	if look.Take.Driver != nil {
		m.AddFindings([]finding.Finding{*look.Take.Driver})
	}
	doc := result.Glimpsed{Part: f.part}
	if look.Known {
		s, err := setup.Suit(look.Part, look.Readings, look.FreqsHz)
		if err != nil {
			return err
		}
		doc.Suited, doc.Chosen, doc.At = s, result.NewChosen(s), nearestReading(m, s.FreqHz)
		m.AddFindings(m.Readings[doc.At].Findings)
	} else {
		a.notToBeTold(true)
		for _, r := range m.Readings {
			m.AddFindings(r.Findings)
		}
	}
	doc.Measurement = m.Document()
	q := result.NewQuick(doc)
	told := tell.Quick(q)
	if err := a.show(q, told, f.json, false); err != nil {
		return err
	}
	a.tellKept(w, nil)
	a.enterResult(f.entry.on(f.jig, f.part, m), q)
	return a.writeReport(f.paper, told)
}

// nearestReading is the number of the trusted reading nearest to a frequency.
func nearestReading(m *report.Measurement, hz float64) (best int) {
	least := math.Inf(1)
	for i, r := range m.Readings {
		if d := math.Abs(math.Log(r.NominalHz / hz)); r.Trusted && d < least {
			best, least = i, d
		}
	}
	return best
}
