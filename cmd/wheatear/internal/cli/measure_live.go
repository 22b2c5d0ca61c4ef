package cli

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// measureLive records the part and reads it.
func (a *app) measureLive(f measureFlags, jig *fixture.Jig, cal *fixture.Calibration) error {
	if len(f.at.requests) == 0 {
		return a.measureSuited(f, jig, cal)
	}
	tones, err := liveTones(f.at, cal)
	if err != nil {
		return err
	}
	if f.watch && !f.json && len(tones) > 1 {
		return usagef("--watch shows one line: name one frequency, or add --json")
	}
	w, plan, err := a.readyPart(f.jig, jig, f.live, "measure "+f.part, f.part, cal, tones)
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	if err := a.tellPlan(plan, f.at); err != nil {
		return err
	}
	if f.watch {
		return a.watch(f, w, plan, cal)
	}
	return a.measureOnce(f, w, plan, cal)
}

// measureSuited is the same at the frequency that suits the part.
func (a *app) measureSuited(f measureFlags, jig *fixture.Jig, cal *fixture.Calibration) error {
	w, err := a.openSession(f.jig, jig, f.live, "measure "+f.part)
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	w.SetReading(a.readingOptions(cal))
	if err := putPart(w, f.part); err != nil {
		return err
	}
	at, err := a.suitMeasurement(&f, w, cal)
	if err != nil {
		return err
	}
	if at.Movable && f.bench && cal != nil { // not calibrated there: another may be
		jigFile := ""
		f.calibration = ""
		if err := a.takeBench(&jigFile, &f.calibration, atOne(at), nil); err != nil {
			return err
		}
		if cal, err = readCalibration(f.calibration); err != nil {
			return err
		}
		w.SetReading(a.readingOptions(cal))
	}
	plan, err := w.Plan(a.ctx, []stimulus.ToneRequest{at})
	if err != nil {
		return err
	}
	if f.watch {
		return a.watch(f, w, plan, cal)
	}
	return a.measureOnce(f, w, plan, cal)
}

// atOne asks for one tone as --at would.
func atOne(t stimulus.ToneRequest) frequencies {
	return frequencies{requests: []parts.FrequencyRequest{{FreqHz: t.FreqHz, Movable: t.Movable}}}
}

// readyPart opens a session with a part in the jig and the tones planned. The caller
// closes it.
func (a *app) readyPart(file string, jig *fixture.Jig, flags liveFlags, what, part string, cal *fixture.Calibration, tones []stimulus.ToneRequest) (*work, *stimulus.Plan, error) {
	w, err := a.openSession(file, jig, flags, what)
	if err != nil {
		return nil, nil, err
	}
	w.SetReading(a.readingOptions(cal))
	var plan *stimulus.Plan
	if err = putPart(w, part); err == nil {
		plan, err = w.Plan(a.ctx, tones)
	}
	if err != nil {
		a.closeSession(w)
		return nil, nil, err
	}
	return w, plan, nil
}

// putPart puts a part into the simulated jig; in a real one it is there already.
func putPart(w *work, name string) error {
	if !w.Simulated() {
		return nil
	}
	if name == "" {
		there := strings.Join(append(w.Parts(), "open", "short", "load"), ", ")
		return usagef("which part is to be put into the simulated jig? Add --part NAME; there are: %s", there)
	}
	return w.Put(name)
}

// measureOnce makes a reading of each tone, of as many records as it needs.
func (a *app) measureOnce(f measureFlags, w *work, plan *stimulus.Plan, cal *fixture.Calibration) error {
	subject := live.Subject{Role: fixture.PartRole, Name: f.part}
	series, err := w.Average(a.ctx, subject, plan, cal, live.Goal{To: f.to.value, Seconds: f.within.value})
	a.progress.clear()
	if len(series.Takes) == 0 {
		return err
	}
	if err != nil {
		a.complain(err) // what was recorded before is read all the same
	}
	a.tellSeries(w, series)
	m, failed := a.liveReadings(f, w.jig, cal, series.Observations(), live.Frequencies(plan))
	if failed != nil {
		return failed
	}
	m.AddFindings(series.Driver())
	a.tellKept(w, redoMeasurement(f, m.Files, live.Frequencies(plan)))
	return a.concludeMeasurement(m, f)
}

// tellSeries says what a person may want to change.
func (a *app) tellSeries(w *work, series *live.Averaged) {
	if n := len(series.Takes); n > 1 {
		a.say("%d records averaged, %s s in all.", n, strconv.FormatFloat(w.Seconds(), 'f', 1, 64))
	}
	if series.Why != "" {
		a.say("%s.", strings.ToUpper(series.Why[:1])+series.Why[1:])
	}
	if advice := w.LevelAdvice(series.Takes[len(series.Takes)-1]); advice != "" {
		a.say("%s", advice)
	}
}

// liveReadings reads every tone from what was recorded.
func (a *app) liveReadings(f measureFlags, jig *fixture.Jig, cal *fixture.Calibration, obs []fixture.Observation, freqsHz []float64) (*report.Measurement, error) {
	m := &report.Measurement{Jig: jig, As: a.as, Calibration: f.calibration, Cal: cal, Budget: f.budget, Explain: f.explain, Report: f.paper != "", Expected: f.expect.readings, Chosen: f.chosen}
	for _, o := range obs {
		m.Files = append(m.Files, o.File)
	}
	h := &heard{observations: obs}
	connection{role: fixture.PartRole}.sift(h, freqsHz, false)
	for _, freqHz := range freqsHz {
		r, err := a.reading(m, h, freqHz)
		if err != nil {
			return nil, err
		}
		m.Readings = append(m.Readings, r)
	}
	return m, nil
}

// redoMeasurement is the command that reads the same from what was kept.
func redoMeasurement(f measureFlags, files []string, freqsHz []float64) []string {
	line := []string{"wheatear", "measure", "--jig", f.jig}
	if f.calibration != "" {
		line = append(line, "--calibration", f.calibration)
	}
	line = append(line, "--at", exact(freqsHz))
	if f.expect.text != "" {
		line = append(line, "--expect", f.expect.text)
	}
	for _, file := range files {
		line = append(line, "--recording", file)
	}
	return line
}

// exact writes frequencies so that they are read as the same numbers.
func exact(freqsHz []float64) string {
	var list []string
	for _, f := range freqsHz {
		list = append(list, strconv.FormatFloat(f, 'f', -1, 64))
	}
	return strings.Join(list, ",")
}

// watch reads the part again and again, until somebody or the time ends it.
func (a *app) watch(f measureFlags, w *work, plan *stimulus.Plan, cal *fixture.Calibration) error {
	subject := live.Subject{Role: fixture.PartRole, Name: f.part}
	line := watchLine{app: a, json: f.json, same: isTerminal(a.stdout) && !f.json}
	defer line.end()
	a.progress.clear()
	a.progress.on = false // one moving line is enough
	if line.same {
		a.say("Reading; ctrl-C ends it.")
	}
	var follower live.Follower
	var last *report.Measurement
	defer func() {
		if last != nil {
			a.enterMeasurement(f, last)
		}
	}()
	for n := 0; ; n++ {
		t, err := w.Take(a.ctx, subject, plan)
		if errors.Is(err, context.Canceled) && n > 0 {
			return nil
		}
		if err != nil {
			return err
		}
		follower.See(w.jig, &t.Observation, live.Frequencies(plan))
		m, err := a.liveReadings(f, w.jig, cal, []fixture.Observation{t.Observation}, live.Frequencies(plan))
		if err != nil {
			return err
		}
		if t.Driver != nil {
			m.AddFindings([]finding.Finding{*t.Driver})
		}
		if err := line.show(m); err != nil {
			return err
		}
		if last = m; f.entry.label != "" {
			a.enterMeasurement(f, m)
			last = nil
		}
		if f.within.value > 0 && w.Seconds() >= f.within.value {
			return nil
		}
	}
}

// watchLine is the steady line.
type watchLine struct {
	app  *app
	json bool
	same bool // written over and over
	any  bool
}

func (l *watchLine) show(m *report.Measurement) error {
	a := l.app
	for _, r := range m.Readings {
		if !r.Trusted {
			a.status.join(Untrusted)
		}
		m.AddFindings(r.Findings)
	}
	l.any = true
	var err error
	switch {
	case l.json:
		err = result.WriteLine(a.out, m.Document())
	case l.same:
		_, err = fmt.Fprintf(a.out, "\r%s\x1b[K", text.Line(tell.Watch(m.Document()), text.LookOf(a.stdout)))
	default:
		_, err = fmt.Fprintln(a.out, text.Line(tell.Watch(m.Document()), text.Look{}))
	}
	if err == nil {
		err = a.out.Flush()
	}
	return err
}

// end leaves the last line on the terminal.
func (l *watchLine) end() {
	if l.any && l.same {
		fmt.Fprintln(l.app.out)
	}
}
