package page

import (
	"context"
	"fmt"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// feeder is the person at the page: parts are asked for there, or taken from the tray of
// the simulated jig. What is seen is shown to all pages.
type feeder struct {
	bench   *Bench
	desk    *desk
	act     *activity
	lot     *lot
	want    *sortWants
	session *live.Session
	reader  *reader
	freqHz  float64

	read  *report.Reading    // as judged last
	judge *fixture.Judgement // likewise
	shown time.Time          // when a glimpse was shown last
}

// stage says what sorting waits for, where that changes.
func (f *feeder) stage(s SortStage, cue string) {
	b := f.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if f.lot.stage == s && f.lot.cue == cue {
		return
	}
	f.lot.stage, f.lot.cue = s, cue
	b.changed()
}

// number is that of the next part.
func (f *feeder) number() int {
	f.bench.mu.Lock()
	defer f.bench.mu.Unlock()
	return len(f.lot.file.Parts()) + 1
}

// Next implements [live.Feeder].
func (f *feeder) Next() (bool, error) { return true, nil }

// Out implements [live.Feeder].
func (f *feeder) Out() (bool, error) {
	f.stage(Counted, fmt.Sprintf("Take it out, and put in part %d.", f.number()))
	return true, nil
}

// Again implements [live.Feeder].
func (f *feeder) Again() error {
	f.stage(Asked, "It cannot be read. Take it out, look after the contacts, and put it in once more.")
	return nil
}

// Tell implements [live.Feeder].
func (f *feeder) Tell(text string) { f.stage(Asked, text) }

// Patience implements [live.Feeder]: a person is waited for.
func (f *feeder) Patience() int { return 0 }

// Name implements [live.Feeder]. It is called when a part is about to be recorded.
func (f *feeder) Name() string {
	n := f.number()
	f.stage(Reading, fmt.Sprintf("Reading part %d. Hold still.", n))
	return f.bench.partName(f.desk, f.called(n))
}

// called is the name of a part of a real jig.
func (f *feeder) called(n int) string {
	if f.session.Simulated() {
		return ""
	}
	return fmt.Sprintf("part %d", n)
}

// See implements [live.Feeder]: it shows a glimpse, and waits for the clock where the
// card is simulated and would be faster.
func (f *feeder) See(seen live.Seen, e batch.Event) live.Wish {
	f.show(seen)
	n := f.number()
	switch e {
	case batch.Nothing, batch.Leaving:
		f.stage(Empty, fmt.Sprintf("Put in part %d.", n))
	case batch.Entering:
		f.stage(Settling, fmt.Sprintf("Part %d is in. Hold still until it has settled.", n))
	}
	wait := time.Duration(0)
	if f.session.Simulated() {
		wait = time.Until(f.shown.Add(glimpseEvery))
	}
	defer func() { f.shown = time.Now() }()
	select {
	case asked := <-f.act.pokes:
		if asked == count1 {
			return live.CountNow
		}
		return live.Exchange
	case <-f.act.ctx.Done():
	case <-time.After(max(0, wait)):
	}
	return live.GoOn
}

// glimpseEvery is how often a real card gives a glimpse.
const glimpseEvery = 200 * time.Millisecond

// show tells the pages what is in the jig. What is wrong with a glimpse will be told by
// the record, too.
func (f *feeder) show(seen live.Seen) {
	b, r := f.bench, f.reader
	r.what.Name = b.partName(f.desk, f.called(f.number()))
	u := &Update{Schema: updateSchema, Time: b.opts.Now(), Part: r.what.Name, FreqHz: f.freqHz}
	if err := r.read(u, seen.Observation); err != nil {
		return
	}
	u.Heard = r.heard(seen.Observation.Analysis)
	b.publish(u)
}

// Judge implements [live.Feeder], as the command does.
func (f *feeder) Judge(obs []fixture.Observation) (parts.Outcome, error) {
	f.bench.counts.records.Add(1)
	c, err := live.Measure(f.desk.jig, f.desk.cal, obs, f.freqHz, f.session.Reading())
	if err != nil {
		return "", err
	}
	f.read = &report.Reading{Corrected: c, Observations: obs}
	f.judge, err = c.JudgeAs(f.want.as, []parts.Marking{f.want.expected}, parts.Rule{}, impedance.Config{})
	if err != nil {
		return "", err
	}
	return f.judge.Outcome, nil
}

// Keep implements [live.Feeder].
func (f *feeder) Keep(name string) error {
	if f.act.ctx.Err() != nil {
		return context.Cause(f.act.ctx)
	}
	b := f.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	_, err := f.lot.add(run.Judged(name, b.opts.Now(), f.read.Corrected, f.judge, f.want.bins))
	if err == nil {
		f.lot.m.AddFindings(f.read.Findings)
	}
	b.changed()
	return err
}
