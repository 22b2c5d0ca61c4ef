package cli

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
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
	g, err := a.lookAt(w, setup, cal, f.part)
	if err != nil {
		return err
	}
	g.Calibration = f.calibration
	doc := result.Glimpsed{Part: f.part}
	if g.known {
		s, err := setup.Suit(g.part, g.readings(), g.frequencies())
		if err != nil {
			return err
		}
		doc.Suited, doc.Chosen, doc.At = s, chosenDocument(s), g.nearest(s.FreqHz)
		g.AddFindings(g.Readings[doc.At].Findings)
		if !g.Readings[doc.At].Trusted {
			a.status.join(Untrusted)
		}
	} else {
		a.notToBeTold(true)
		for _, r := range g.Readings {
			g.AddFindings(r.Findings)
		}
	}
	doc.Measurement = g.Document()
	q := result.NewQuick(doc)
	told := tell.Quick(q)
	if err := a.show(q, told, f.json, false); err != nil {
		return err
	}
	a.tellKept(w, nil)
	a.enterResult(f.entry.on(f.jig, f.part, g.Measurement), q)
	return a.writeReport(f.paper, told)
}

// frequencies are those of the look that were read and can be trusted.
func (g *glimpse) frequencies() (out []float64) {
	for _, r := range g.Readings {
		if r.Trusted {
			out = append(out, r.NominalHz)
		}
	}
	return out
}

// nearest is the number of the reading nearest to a frequency.
func (g *glimpse) nearest(hz float64) (best int) {
	least := math.Inf(1)
	for i, r := range g.Readings {
		if d := math.Abs(math.Log(r.NominalHz / hz)); r.Trusted && d < least {
			best, least = i, d
		}
	}
	return best
}
