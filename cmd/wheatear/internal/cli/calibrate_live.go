package cli

import (
	"context"
	"fmt"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// calibrateLive has each standard connected and recorded, and makes a calibration
// of them.
func (a *app) calibrateLive(f calibrateFlags, jig *fixture.Jig) error {
	tones, err := liveTones(f.at, nil)
	if err != nil {
		return err
	}
	w, err := a.openSession(f.jig, jig, f.live, "calibrate")
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	subjects, err := a.subjects(f, w)
	if err != nil {
		return err
	}
	plan, err := w.Plan(a.ctx, tones)
	if err != nil {
		return err
	}
	if err := a.tellPlan(plan, f.at); err != nil {
		return err
	}
	standards, err := w.Standards(a.ctx, a.hand(w), subjects, plan)
	a.progress.clear()
	if err != nil || standards.Stopped {
		return a.uncalibrated(f, w, standards, err)
	}
	return a.calibrateWith(f, w, standards, live.Frequencies(plan))
}

// tellPlan says what is played where that is not just what was asked for.
func (a *app) tellPlan(plan *stimulus.Plan, at frequencies) error {
	for _, r := range at.requests {
		if r.Movable || r.All {
			return a.tellTones(result.NewStimulus(plan))
		}
	}
	return nil
}

// subjects are the standards that are asked for.
func (a *app) subjects(f calibrateFlags, w *work) ([]live.Subject, error) {
	subjects := []live.Subject{{Role: fixture.Open}, {Role: fixture.Short}}
	loads := f.loads.values()
	if len(loads) == 0 && w.Simulated() {
		loads = []fixture.Load{{Ohm: w.jig.ReferenceOhm, Tolerance: w.jig.ReferenceTolerance}}
	}
	if len(loads) == 0 {
		load, err := a.askLoad(w.jig)
		if err != nil {
			return nil, err
		}
		loads = load
	}
	for _, l := range loads {
		subjects = append(subjects, live.Subject{Role: fixture.LoadRole, Load: &l})
	}
	return subjects, nil
}

// askLoad asks for the value of the load; there may be none.
func (a *app) askLoad(jig *fixture.Jig) (list []fixture.Load, err error) {
	question := fmt.Sprintf("Which resistor of known value have you, best near %s? Value and tolerance, such as 1k/0.1%% (Enter: none):",
		text.Tie(parts.FormatValue(jig.ReferenceOhm, parts.Ohm)))
	err = a.choose(question, func(answer string) error {
		if answer == "" {
			return nil
		}
		load, err := parseLoad(answer)
		list = []fixture.Load{load}
		return err
	})
	return list, err
}

// hand connects standards: the simulated jig does it itself, else a person does.
func (a *app) hand(w *work) live.Hand {
	if w.Simulated() {
		return w.Hand()
	}
	return &person{app: a}
}

// person is asked to connect what is wanted.
type person struct {
	app      *app
	recorded bool // what was asked for before
}

// instructions say what to do for each standard.
var instructions = map[fixture.Role]string{
	fixture.Open:     "OPEN: nothing between the terminals, the leads where they will be for the part.",
	fixture.Short:    "SHORT: join the terminals by a short piece of thick wire.",
	fixture.LoadRole: "LOAD: connect the resistor",
}

// Connect implements live.Hand.
func (p *person) Connect(ctx context.Context, what live.Subject, again []finding.Finding) (live.Answer, error) {
	a := p.app
	a.progress.clear()
	switch {
	case again != nil:
		a.say("Refused, this cannot be %s:", what)
		a.findings(again)
	case p.recorded:
		a.say("Recorded.")
	}
	standard := instructions[what.Role]
	if what.Load != nil {
		standard += " of " + text.Tie(what.Load.String()) + "."
	}
	fmt.Fprintln(a.talk)
	a.say("%s", standard)
	answer := live.Stop
	err := a.choose("Enter when it is so (s skips it, q stops):", func(text string) error {
		known, ok := words[strings.ToLower(text)]
		if !ok {
			return fmt.Errorf("%q: Enter, s or q", text)
		}
		answer = known
		return nil
	})
	p.recorded = answer == live.Ready
	return answer, err
}

// words are the answers that a person can give.
var words = map[string]live.Answer{
	"": live.Ready, "y": live.Ready, "yes": live.Ready,
	"s": live.Skip, "skip": live.Skip, "q": live.Stop, "quit": live.Stop,
}

// uncalibrated tells of a calibration that was not finished: a standard was refused,
// or somebody or something ended it.
func (a *app) uncalibrated(f calibrateFlags, w *work, s *live.Standards, cause error) error {
	a.tellKept(w, nil)
	if s.Refused == nil || cause != nil {
		a.say("Not calibrated: nothing was written.")
		if cause == nil {
			cause = fmt.Errorf("stopped before all standards were recorded")
		}
		return cause
	}
	return a.concludeCalibration(f, &outcome{findings: append(s.Refused, s.Driver...)})
}

// calibrateWith makes the calibration of what was recorded.
func (a *app) calibrateWith(f calibrateFlags, w *work, s *live.Standards, freqsHz []float64) error {
	if len(s.Observations) == 0 {
		return fmt.Errorf("every standard was skipped, so there is nothing to calibrate with")
	}
	cal, findings, err := live.Calibrate(w.jig, s.Observations, freqsHz, fixture.About{Date: a.now(), Card: w.Card()})
	if err != nil {
		return err
	}
	o := &outcome{calibration: cal, findings: append(findings, s.Driver...)}
	a.tellKept(w, redoCalibration(f, s, freqsHz))
	return a.concludeCalibration(f, o)
}

// redoCalibration is the command that makes the same calibration of what was kept.
func redoCalibration(f calibrateFlags, s *live.Standards, freqsHz []float64) []string {
	line := []string{"wheatear", "calibrate", "--jig", f.jig, "--at", exact(freqsHz)}
	for _, o := range s.Observations {
		if o.Load != nil {
			line = append(line, "--load", o.Load.String()+"="+o.File)
		} else {
			line = append(line, "--"+string(o.Role), o.File)
		}
	}
	if f.out != "" {
		line = append(line, "--out", f.out)
	}
	return line
}

// tellKept says where the recordings are, and how to use them again.
func (a *app) tellKept(w *work, redo []string) {
	switch {
	case w.folder == nil:
	case redo == nil:
		a.say("What was recorded is kept in %s.", w.folder.Dir())
	default:
		a.say("The recordings are kept in %s. The same from them:", w.folder.Dir())
		writeCommand(a.talk, redo)
	}
}
