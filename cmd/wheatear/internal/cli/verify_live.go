package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

// rehearsal is a verification while it plays and records.
type rehearsal struct {
	*app
	*verification
	w     *work
	tones *stimulus.Plan
}

// verifyLive goes through the steps, those with the load in first.
func (a *app) verifyLive(v *verification) error {
	w, err := a.openSession(v.flags.jig, v.jig, liveFlags{keep: v.flags.keep, level: v.flags.level}, fmt.Sprint("verify", v.earlierDate()))
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	defer a.tellKept(w, nil)
	v.card = w.Card()
	r := &rehearsal{app: a, verification: v, w: w}
	if err := r.known(); err != nil {
		return err
	}
	if r.tones, err = w.PlanFor(a.ctx, r.requests(), 0, v.jig.Card.Seconds); err != nil {
		return err
	}
	v.evidence.Peak = r.tones.Config.Peak
	stages := r.stages()
	for i, s := range stages {
		if v.skips(s.step) {
			continue
		}
		a.progress.before = fmt.Sprintf("%d of %d, %s: ", i+1, len(stages), s.step)
		stop, err := r.stage(s)
		a.progress.before = ""
		if err != nil || stop {
			return err
		}
	}
	return nil
}

// earlierDate tells one verification of a simulated jig from the next, which must not
// hear the same noise.
func (v *verification) earlierDate() string {
	if v.earlier == nil {
		return ""
	}
	return fmt.Sprint(v.earlier.Date, len(v.earlier.Earlier))
}

// known settles the known resistors. The simulated jig has a drawer of them.
func (r *rehearsal) known() error {
	ohm := r.jig.ReferenceOhm
	if r.w.Simulated() {
		const tolerance = 0.001
		if len(r.loads) == 0 {
			r.loads = []fixture.Load{{Ohm: ohm, Tolerance: tolerance}, {Ohm: ohm / 10, Tolerance: tolerance}}
		}
		if len(r.checks) == 0 {
			r.checks = []fixture.Load{{Ohm: 22 * ohm / 10, Tolerance: tolerance}}
		}
		if r.reference == nil {
			r.reference = &fixture.Load{Ohm: 10 * ohm, Tolerance: tolerance}
		}
		return nil
	}
	if len(r.loads) == 0 && !r.skips(jigcheck.Load) {
		load, err := r.askLoad(r.jig)
		if err != nil {
			return err
		}
		r.loads = load
	}
	return nil
}

// requests are the tones of the steps with several: those of --at, or some from 100 Hz
// up to where converters end.
func (r *rehearsal) requests() []stimulus.ToneRequest {
	if len(r.flags.at.requests) > 0 && !r.flags.at.all() {
		return toneRequests(r.flags.at.requests)
	}
	highest := math.Min(15e3, 0.38*r.jig.Card.RateHz)
	const count = 5
	var out []stimulus.ToneRequest
	for k := range count {
		out = append(out, stimulus.ToneRequest{FreqHz: 100 * math.Pow(highest/100, float64(k)/(count-1)), Movable: true})
	}
	return out
}

// stage is one thing to connect, and how often it is recorded.
type stage struct {
	step   jigcheck.Step
	load   *fixture.Load
	other  *fixture.Load
	again  int  // which insertion, from 1; 0 where it is put in once
	of     int  // insertions
	same   bool // as the stage before, so that nobody is asked
	hookup virtual.Hookup
}

// stages lists them so that little is rewired: first all with the load in, then other
// parts, then other connections of the inputs.
func (r *rehearsal) stages() []stage {
	var load *fixture.Load
	if len(r.loads) > 0 {
		load = &r.loads[0]
	}
	out := []stage{{step: jigcheck.Idle, load: load}}
	for _, s := range []jigcheck.Step{jigcheck.Levels, jigcheck.Long, jigcheck.Drift} {
		out = append(out, stage{step: s, load: load, same: true})
	}
	for i := range r.loads {
		out = append(out, stage{step: jigcheck.Load, load: &r.loads[i], same: i == 0})
	}
	for i := range r.flags.insertions {
		out = append(out, stage{step: jigcheck.Short, again: i + 1, of: r.flags.insertions})
	}
	for i := range r.flags.insertions {
		out = append(out, stage{step: jigcheck.Open, again: i + 1, of: r.flags.insertions})
	}
	for i := range r.checks {
		out = append(out, stage{step: jigcheck.Check, load: &r.checks[i]})
	}
	out = append(out,
		stage{step: jigcheck.Terminated1, load: load, hookup: virtual.Hookup{Terminated: r.jig.Inputs[0]}},
		stage{step: jigcheck.Terminated2, load: load, hookup: virtual.Hookup{Terminated: r.jig.Inputs[1]}},
		stage{step: jigcheck.Joined, load: load, hookup: virtual.Hookup{Joined: true}})
	if r.reference != nil && load != nil {
		out = append(out, stage{step: jigcheck.Reference, load: load, other: r.reference, hookup: virtual.Hookup{ReferenceOhm: r.reference.Ohm}})
	}
	return out
}

// stage has one thing connected and records it.
func (r *rehearsal) stage(s stage) (stop bool, err error) {
	answer, err := r.connect(s)
	if err != nil || answer == live.Stop {
		return true, err
	}
	if answer == live.Skip {
		r.flags.skip = append(r.flags.skip, string(s.step))
		return false, nil
	}
	switch s.step {
	case jigcheck.Idle:
		return false, r.record(s, r.w.Silence(math.Max(2, r.jig.Card.Seconds)))
	case jigcheck.Levels:
		return false, r.recordLevels(s)
	case jigcheck.Long:
		plan, err := r.w.PlanFor(r.ctx, []stimulus.ToneRequest{{FreqHz: breakHz(r.middle(), r.jig.Card.RateHz)}}, 0, r.flags.longS)
		if err != nil {
			return true, err
		}
		return false, r.record(s, plan)
	case jigcheck.Drift:
		return false, r.recordDrift(s)
	}
	return false, r.record(s, r.tones)
}

// softer is the same plan 12 dB below, for what overdrives an input: a short drives
// that of a reference hardest.
func (r *rehearsal) softer(plan *stimulus.Plan) (*stimulus.Plan, error) {
	cfg := plan.Config
	cfg.Peak /= 4
	var tones []stimulus.ToneRequest
	for _, t := range plan.Tones {
		tones = append(tones, stimulus.ToneRequest{FreqHz: t.FreqHz})
	}
	return stimulus.PlanTones(cfg, tones)
}

// clipped reports whether a record was overdriven.
func clipped(t *live.Take) bool {
	return t.Observation.Analysis != nil && slices.ContainsFunc(t.Observation.Analysis.Findings, func(f finding.Finding) bool {
		return f.Code == finding.Clipped
	})
}

// middle is the frequency of single tones: about 1 kHz, its harmonics in the band.
func (r *rehearsal) middle() float64 { return math.Min(997, r.jig.Card.RateHz/16) }

// breakHz is a tone near a frequency in which no lost or doubled buffer hides: buffers are
// multiples of 64 frames, in which it makes whole cycles and a golden part, so that no
// small multiple leaves its phase as it was. It keeps off the mains.
func breakHz(nearHz, rateHz float64) float64 {
	const frames, clearHz = 64, 5
	whole := math.Round(nearHz * frames / rateHz)
	best, clearest := 0.0, -1.0
	for _, part := range []float64{2 - math.Phi, math.Phi - 1} {
		hz := (whole + part) * rateHz / frames
		clear := math.Min(math.Abs(math.Remainder(hz, 50)), math.Abs(math.Remainder(hz, 60)))
		if clear = math.Min(clear, clearHz); clear > clearest {
			best, clearest = hz, clear
		}
	}
	return best
}

// record makes one record and adds it to the evidence.
func (r *rehearsal) record(s stage, plan *stimulus.Plan) error {
	began := r.w.Seconds()
	t, err := r.w.Once(r.ctx, live.Subject{Role: fixture.Role(s.name())}, plan)
	if t == nil {
		return err
	}
	const softest = 0.003
	if err == nil && s.step != jigcheck.Levels && clipped(t) && plan.Config.Peak > softest {
		soft, err := r.softer(plan)
		if err != nil {
			return err
		}
		if plan == r.tones && s.ordinary() { // so will all that follow
			r.tones = soft
		}
		return r.record(s, soft)
	}
	if t.Driver != nil {
		r.driver = append(r.driver, *t.Driver)
	}
	rec := jigcheck.Recording{Step: s.step, File: t.Observation.File, Load: s.load, Other: s.other, Analysis: t.Observation.Analysis,
		Played: t.Observation.Played, LeadS: (float64(plan.LeadFrames) + float64(plan.FadeFrames)/2) / plan.Config.RateHz, AtS: began}
	if s.step == jigcheck.Idle || s.step == jigcheck.Long {
		rec.Signal = record.Signal{RateHz: t.Record.RateHz, Channels: t.Record.Channels, Bits: t.Record.Bits}
	}
	r.evidence.Recordings = append(r.evidence.Recordings, rec)
	return err
}

// ordinary reports whether a stage has the load in, as measurements have their part.
func (s *stage) ordinary() bool { return s.load != nil && s.hookup == virtual.Hookup{} }

// name is what the recordings of a stage are called.
func (s *stage) name() string {
	if s.step == jigcheck.Load || s.step == jigcheck.Check {
		return string(s.step) + "-" + parts.FormatValue(s.load.Ohm, parts.None)
	}
	return string(s.step)
}

// recordLevels plays one tone from -50 dBFS to 1 dB below full scale, but no louder
// than 12 dB above the level of the jig file: what follows an output may not bear more.
func (r *rehearsal) recordLevels(s stage) error {
	usual := 20 * math.Log10(r.tones.Config.Peak)
	top := math.Min(-1, usual+12)
	for _, below := range []float64{48, 36, 24, 18, 12, 6, 3, 0} {
		plan, err := r.w.PlanFor(r.ctx, []stimulus.ToneRequest{{FreqHz: r.middle(), Movable: true}}, math.Pow(10, (top-below)/20), r.jig.Card.Seconds)
		if err != nil {
			return err
		}
		if err := r.record(s, plan); err != nil {
			return err
		}
	}
	return nil
}

// recordDrift records the same thing until the time is over.
func (r *rehearsal) recordDrift(s stage) error {
	const simulated, least = 16, 4
	begin := r.now()
	for n := 0; ; n++ {
		if r.w.Simulated() && n >= simulated || !r.w.Simulated() && n >= least && r.now().Sub(begin).Minutes() >= r.flags.minutes {
			return nil
		}
		if err := r.record(s, r.tones); err != nil {
			return err
		}
	}
}

// connect asks for what a stage needs, or has the simulated jig do it.
func (r *rehearsal) connect(s stage) (live.Answer, error) {
	if r.w.Simulated() {
		return live.Ready, r.put(s)
	}
	if s.same && !r.skips(jigcheck.Idle) {
		return live.Ready, nil
	}
	r.progress.clear()
	fmt.Fprintln(r.app.talk)
	r.say("%s", s.instruction())
	answer := live.Stop
	err := r.choose("Enter when it is so (s skips this step, q ends here):", func(text string) error {
		known, ok := words[strings.ToLower(text)]
		if !ok {
			return fmt.Errorf("%q: Enter, s or q", text)
		}
		answer = known
		return nil
	})
	return answer, err
}

// put connects the simulated jig.
func (r *rehearsal) put(s stage) error {
	if err := r.w.Hook(s.hookup); err != nil {
		return err
	}
	switch {
	case s.step == jigcheck.Open || s.step == jigcheck.Short:
		return r.w.Put(string(s.step))
	case s.load != nil:
		return r.w.PutResistor(s.load.Ohm)
	}
	return nil
}

// instruction says what to do.
func (s *stage) instruction() string {
	text := ""
	for _, about := range jigcheck.Steps() {
		if about.Step == s.step {
			text = strings.ToUpper(string(s.step)) + ": " + about.Do
		}
	}
	switch {
	case s.step == jigcheck.Reference:
		text += fmt.Sprintf(": %s there, %s between the terminals", tie(s.other), tie(s.load))
	case s.load != nil:
		text += fmt.Sprintf(" (%s)", tie(s.load))
	}
	if s.again > 1 {
		text += fmt.Sprintf(". Insertion %d of %d: take it out and put it in anew", s.again, s.of)
	}
	return text + "."
}

func tie(l *fixture.Load) string { return text.Tie(l.String()) }
