package cli

import (
	"context"
	"errors"
	"fmt"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// sorter judges parts as they are put into the jig.
type sorter struct {
	*sorting
	work *work
	hand hand
	plan *lockin.TonePlan
	here batch.Presence
	last batch.Glimpse
	none float64 // ohm: from here on there is no part
}

// live judges parts as they come.
func (s *sorting) live() error {
	a := s.app
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
	o := &sorter{sorting: s, work: w}
	if w.Simulated() {
		o.hand = newScript(o)
	} else {
		o.hand = &someone{sorter: o}
		if len(s.file.Parts()) > 0 {
			o.here = batch.Occupied()
		}
	}
	if o.plan, err = w.Plan(a.ctx, tones); err != nil {
		return err
	}
	o.none = batch.NoneOhm(s.expected.Limits(), s.expected.Unit, live.Frequencies(o.plan)[0])
	return o.all()
}

// all goes on as long as there are parts. A person ends the run with ctrl-C.
func (o *sorter) all() error {
	for !o.complete() {
		name, err := o.hand.next()
		if err != nil || name == "" {
			return err
		}
		err = o.one(name)
		if err == nil && !o.complete() {
			if err = o.hand.out(); err == nil {
				err = o.await(batch.Leaving)
			}
		}
		if errors.Is(err, context.Canceled) && o.hand.ends() && len(o.file.Parts()) > 0 {
			return nil // that is how a run ends
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// complete reports whether the run has the parts that were asked for.
func (o *sorter) complete() bool { return o.f.count > 0 && len(o.file.Parts()) >= o.f.count }

// insertions is how often a part is asked for that cannot be read.
const insertions = 3

// one reads a part that is put in, again if it moved or a record was spoilt.
func (o *sorter) one(name string) error {
	for try := 1; ; try++ {
		if err := o.await(batch.Settled); err != nil {
			return err
		}
		r, why, err := o.decide(name)
		if err != nil {
			return err
		}
		if why == "" || try >= insertions*live.Repeats && o.hand.givesUp() {
			return o.add(name, r)
		}
		o.app.say("Not judged, %s: %s.", name, why)
		o.here.Unsettle()
		if try%live.Repeats == 0 {
			if err := o.hand.again(); err != nil {
				return err
			}
		}
	}
}

// decide records the part that is in until the decision is safe or the time is over. Why
// says what forbids to judge it.
func (o *sorter) decide(name string) (r *report.Reading, why string, err error) {
	a, freqHz := o.app, live.Frequencies(o.plan)[0]
	stood := o.last
	var obs []fixture.Observation
	began := o.work.Seconds()
	for {
		before := o.work.Seconds()
		a.progress.before = name + ", "
		t, err := o.work.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: name}, o.plan)
		a.progress.before = ""
		if err != nil {
			return nil, "", err
		}
		seen, err := o.work.SeenIn([]fixture.Observation{t.Observation}, freqHz, o.m.Cal, o.none)
		if err != nil {
			return nil, "", err
		}
		obs = append(obs, t.Observation)
		if r, err = o.read(&heard{observations: obs}, freqHz); err != nil {
			return nil, "", err
		}
		if why = trouble(t, seen, stood); why != "" {
			return r, why, nil
		}
		now := o.work.Seconds()
		if r.Judgement.Outcome != parts.Undecided || now-began+now-before > o.f.within.value {
			return r, "", nil
		}
	}
}

// trouble says why a record is nothing to judge by, "" where it is.
func trouble(t *live.Take, seen live.Seen, stood batch.Glimpse) string {
	switch {
	case t.Trouble() != "":
		return t.Trouble()
	case seen.Bad:
		for _, f := range seen.Reading.Findings {
			if f.Severity == lockin.Invalid {
				return string(f.Code) + ", " + f.Detail
			}
		}
		return "it cannot be read"
	case !batch.Agree(seen.Glimpse, stood):
		return "it moved while it was read, or has a bad contact"
	}
	return ""
}

// await looks at the jig until something has come about. A script that sees nothing
// happen goes on all the same: a broken part reads as none.
func (o *sorter) await(event batch.Event) error {
	patience := o.hand.patience()
	told := false
	stuck := 0
	err := o.work.Glance(o.app.ctx, o.plan, o.m.Cal, o.none, func(seen live.Seen) bool {
		o.last = seen.Glimpse
		got := o.here.Step(seen.Glimpse)
		if got == event {
			return false
		}
		if patience--; patience == 0 {
			o.here = batch.Presence{}
			if event == batch.Settled {
				o.here = batch.Occupied()
			}
			return false
		}
		if stuck++; !seen.Bad {
			stuck = 0
		}
		if stuck >= longTrouble && !told {
			told = true
			o.tellTrouble(seen)
		}
		o.showState(got)
		return true
	})
	o.app.progress.clear()
	return err
}

// longTrouble is how many spoilt glimpses in a row are worth a word.
const longTrouble = 15

// tellTrouble says why nothing can be read.
func (o *sorter) tellTrouble(seen live.Seen) {
	var found []lockin.Finding
	for _, f := range seen.Reading.Findings {
		if f.Severity == lockin.Invalid {
			found = append(found, f)
		}
	}
	o.app.progress.clear()
	report.Findings(o.app.talk, found)
}

// showState shows what the jig holds.
func (o *sorter) showState(e batch.Event) {
	text := map[batch.Event]string{
		batch.Nothing:  "no part is in",
		batch.Entering: "a part is in; waiting until it has settled",
		batch.Resting:  "waiting until the part is out",
	}[e]
	if text != "" {
		o.app.progress.show(text)
	}
}
