package page

import (
	"fmt"
	"io"
	"math"
	"path/filepath"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

// calibrator leads through the standards.
type calibrator struct {
	bench   *Bench
	act     *activity
	desk    *desk
	session *live.Session
	plan    *stimulus.Plan // what is recorded
	watch   *stimulus.Plan // what is looked at meanwhile: one of its tones
	heard   []fixture.Observation
	driver  []finding.Finding
}

// runGuide goes through the steps that wait and makes the calibration.
func (b *Bench) runGuide(a *activity, d *desk) error {
	g := d.steps
	level, err := parseLevel(g.Request.Level)
	if err != nil {
		return err
	}
	s, err := b.session(a, d, level, true)
	if err != nil {
		return err
	}
	defer s.Close()
	c := &calibrator{bench: b, act: a, desk: d, session: s}
	if err := c.prepare(g); err != nil {
		return err
	}
	for step := g.next(); step != nil; step = g.next() {
		if err := c.standard(g, step); err != nil {
			return err
		}
	}
	return c.finish(g)
}

// prepare plans the tones and reads again what was recorded before an interruption.
func (c *calibrator) prepare(g *guide) error {
	tones, err := someTones(g.Request.At)
	if err != nil {
		return err
	}
	if c.plan, err = c.session.Plan(c.act.ctx, tones); err != nil {
		return err
	}
	middle := stimulus.ToneRequest{FreqHz: nearest(live.Frequencies(c.plan), 1000)}
	if c.watch, err = c.session.Steady(c.act.ctx, []stimulus.ToneRequest{middle}, streamSeconds); err != nil {
		return err
	}
	for _, step := range g.Steps {
		if step.State != recorded {
			continue
		}
		what, err := step.subject()
		if err != nil {
			return err
		}
		t, err := c.session.Again(c.desk.path(recordingsName+"/"+base(step.File)), what, c.plan)
		if err != nil {
			return fmt.Errorf("page: %s cannot be read again (%w); begin the calibration anew", what, err)
		}
		c.add(t)
	}
	return nil
}

func (c *calibrator) add(t *live.Take) {
	c.heard = append(c.heard, t.Observation)
	if t.Driver != nil {
		c.driver = append(c.driver, *t.Driver)
	}
}

// nearest is the frequency that lies nearest, in octaves.
func nearest(freqsHz []float64, hz float64) float64 {
	best := freqsHz[0]
	for _, f := range freqsHz {
		if math.Abs(math.Log(f/hz)) < math.Abs(math.Log(best/hz)) {
			best = f
		}
	}
	return best
}

// standard waits for a person and records one.
func (c *calibrator) standard(g *guide, step *guideStep) error {
	what, err := step.subject()
	if err != nil {
		return err
	}
	if c.session.Simulated() {
		if _, err := c.session.Hand().Connect(c.act.ctx, what, nil); err != nil {
			return err
		}
		c.bench.notify()
	}
	for step.State == wanted {
		asked := pokeRecord
		if !g.Request.Auto || len(step.Refused) > 0 {
			if asked, err = c.look(what); err != nil {
				return err
			}
		}
		switch asked {
		case skip:
			err = c.bench.step(c.desk, func() { step.State, step.Refused = skipped, nil })
		case pokeRecord:
			err = c.record(step, what)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// look shows what is seen of a standard until a person says something.
func (c *calibrator) look(what live.Subject) (poke, error) {
	r := &reader{bench: c.bench, desk: c.desk, session: c.session, plan: c.watch, what: what, guided: true}
	for {
		asked, err := c.act.listen(c.session, c.watch, r.show)
		if err != nil || asked == pokeRecord || asked == skip {
			return asked, err
		}
	}
}

// record records a standard, and refuses it where it cannot be what it claims.
func (c *calibrator) record(step *guideStep, what live.Subject) error {
	t, err := c.session.Take(c.act.ctx, what, c.plan)
	if err != nil {
		return err
	}
	c.bench.counts.records.Add(1)
	doubts, err := c.session.Doubts(t, live.Frequencies(c.plan))
	if err != nil {
		return err
	}
	for i := range doubts {
		doubts[i].File = "" // it is the one just made
	}
	if len(doubts) > 0 {
		if err := c.session.Reject(t, string(doubts[0].Code)+", "+doubts[0].Detail); err != nil {
			return err
		}
		if advice := c.session.LevelAdvice(t); advice != "" {
			c.bench.tell(advice, false)
		}
		return c.bench.step(c.desk, func() { step.Refused = view.Findings(tell.Findings(doubts)) })
	}
	c.add(t)
	return c.bench.step(c.desk, func() { step.State, step.Refused, step.File = recorded, nil, base(t.Observation.File) })
}

// finish makes the calibration of what was recorded.
func (c *calibrator) finish(g *guide) error {
	if len(c.heard) == 0 {
		return fmt.Errorf("page: every standard was left out, so there is nothing to calibrate with")
	}
	about := fixture.About{Date: c.bench.opts.Now(), Card: c.session.Card()}
	cal, findings, err := live.Calibrate(c.desk.jig, c.heard, live.Frequencies(c.plan), about)
	if err != nil {
		return err
	}
	if cal == nil {
		return c.bench.step(c.desk, func() { g.Failed = view.Findings(tell.Findings(findings)) })
	}
	var files []string
	for _, o := range c.heard {
		files = append(files, filepath.Base(o.File))
	}
	if err := writeJSON(c.desk.path(standardsName), files); err != nil {
		return err
	}
	if err := c.keep(cal); err != nil {
		return err
	}
	c.bench.enter(c.desk, "", "", files, func(w io.Writer) error { return result.Write(w, result.NewCalibration(cal, findings)) },
		c.desk.redoCalibration(live.Frequencies(c.plan), c.heard)...)
	return nil
}

// keep takes a calibration into use.
func (c *calibrator) keep(cal *fixture.Calibration) error {
	b := c.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := c.desk.keepCalibration(cal); err != nil {
		return err
	}
	c.desk.steps = nil
	b.notice = &Notice{b.opts.Now(), "Calibrated at " + count(len(cal.Points), "frequency", "frequencies") + ".", false}
	return b.keepGuide(c.desk)
}

// count writes a number with its noun.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
