package cli

import (
	"context"
	"errors"
	"fmt"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// sorter judges parts as they are put into the jig, and keeps them.
type sorter struct {
	*sorting
	work    *work
	freqHz  float64
	reading *report.Reading // as judged last
}

// live judges parts as they come.
func (s *sorting) live() error {
	a := s.app
	if !s.more() {
		return nil // nothing is left to sort: no card is needed to show the run
	}
	tones, err := liveTones(s.f.at, s.m.Cal)
	if err != nil {
		return err
	}
	w, err := a.openSession(s.f.jig, s.m.Jig, s.f.live, fmt.Sprintf("sort from %d", len(s.file.Parts())))
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	defer a.tellKept(w, nil)
	w.SetReading(a.readingOptions(s.m.Cal))
	plan, err := w.Plan(a.ctx, tones)
	if err != nil {
		return err
	}
	o := &sorter{sorting: s, work: w, freqHz: live.Frequencies(plan)[0]}
	l := &live.Sorter{Session: w.Session, Plan: plan, Cal: s.m.Cal, Seconds: s.f.within.value,
		NoneOhm: batch.NoneOhm(s.expected.Limits(), s.expected.Unit, o.freqHz)}
	if w.Simulated() {
		l.Feeder = newScript(o)
		return l.Run(a.ctx)
	}
	l.Feeder, l.Occupied = &someone{sorter: o}, len(s.file.Parts()) > 0
	err = l.Run(a.ctx)
	a.progress.before = ""
	if errors.Is(err, context.Canceled) && len(s.file.Parts()) > 0 {
		return nil // that is how a person ends a run
	}
	return err
}

// more reports whether the run wants other parts.
func (s *sorting) more() bool { return s.f.count == 0 || len(s.file.Parts()) < s.f.count }

// Judge implements [live.Feeder].
func (o *sorter) Judge(obs []fixture.Observation) (parts.Outcome, error) {
	r, err := o.read(&heard{observations: obs}, o.freqHz)
	if err != nil {
		return "", err
	}
	o.reading = r
	return r.Judgement.Outcome, nil
}

// Keep implements [live.Feeder].
func (o *sorter) Keep(name string) error {
	o.app.progress.before = ""
	return o.add(name, o.reading)
}

// named has the progress of the records that follow begin with the name of the part.
func (o *sorter) named(name string) string {
	o.app.progress.before = name + ", "
	return name
}

// Tell implements [live.Feeder].
func (o *sorter) Tell(text string) {
	o.app.progress.before = ""
	o.app.progress.clear()
	o.app.say("%s", text)
}

// See implements [live.Feeder]: it shows what the jig holds.
func (o *sorter) See(_ live.Seen, e batch.Event) live.Wish {
	text := map[batch.Event]string{
		batch.Nothing:  "no part is in",
		batch.Entering: "a part is in; waiting until it has settled",
		batch.Resting:  "waiting until the part is out",
	}[e]
	if text != "" {
		o.app.progress.show(text)
	} else {
		o.app.progress.clear()
	}
	return live.GoOn
}

// tellTrouble says why nothing can be read.
func (o *sorter) tellTrouble(seen live.Seen) {
	var found []finding.Finding
	for _, f := range seen.Reading.Findings {
		if f.Severity == finding.Invalid {
			found = append(found, f)
		}
	}
	o.app.progress.clear()
	o.app.findings(found)
}
