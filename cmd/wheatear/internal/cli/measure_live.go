package cli

import (
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
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
	if f.watch && len(tones) > 1 && (!f.json || f.every.seconds > 0) {
		return usagef("--watch shows one line: name one frequency, or add --json without --every")
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
	series, err := w.Average(a.ctx, subject, plan, cal, live.Goal{To: f.to.value, Seconds: f.within.seconds})
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
