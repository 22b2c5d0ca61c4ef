package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/sweep"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

// steps is a stepped sweep under way.
type steps struct {
	app   *app
	work  *work
	jig   *fixture.Jig
	cal   *fixture.Calibration
	state *sweep.State
	file  string // of the state
	saved []byte // what was last written there, or read
}

// errTaken is why a file of points is not written over.
var errTaken = errors.New("another sweep writes there; give each a file of its own with --state")

// sweepSteps measures the points one after the other.
func (a *app) sweepSteps(f sweepFlags, jig *fixture.Jig, cal *fixture.Calibration) error {
	s := &steps{app: a, jig: jig, cal: cal, file: f.state}
	if s.file == "" {
		s.file = unfinished
	}
	if keepsPoints(s.file) {
		return fmt.Errorf("%s keeps the points of a sweep that is not finished: go on with --resume %s, remove it, or name another with --state", s.file, s.file)
	}
	tones, err := sweepTones(f.frequencies, cal)
	if err != nil {
		return err
	}
	s.state = &sweep.State{Part: f.part, Level: f.live.level.level, To: f.to.value, WithinS: f.within.value}
	if s.state.FrequenciesHz, err = sweep.Place(jig.Card.RateHz, jig.MainsHz, tones); err != nil {
		return err
	}
	if s.state.Jig, err = summed(f.jig); err != nil {
		return err
	}
	if f.calibration != "" {
		if s.state.Calibration, err = summed(f.calibration); err != nil {
			return err
		}
	}
	return s.run(f)
}

// keepsPoints reports whether there is a file that must not be written over: any but
// that of a sweep that was ended before its first point.
func keepsPoints(file string) bool {
	if _, err := os.Lstat(file); errors.Is(err, fs.ErrNotExist) {
		return false
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return true
	}
	state, err := sweep.Decode(file, text)
	return err != nil || len(state.Points) > 0
}

// summed is a file as the state names it.
func summed(name string) (sweep.File, error) {
	content, err := os.ReadFile(name)
	return sweep.NewFile(name, content), err
}

// sweepTones are the tones of --at; those that may be moved go to calibrated ones.
func sweepTones(at frequencies, cal *fixture.Calibration) ([]stimulus.ToneRequest, error) {
	if at.all() {
		return liveTones(at, cal)
	}
	tones := toneRequests(at.requests)
	if cal != nil {
		tones = sweep.Near(tones, cal.Frequencies())
	}
	return tones, nil
}

// resumeSweep goes on with a sweep that was interrupted.
func (a *app) resumeSweep(f sweepFlags) error {
	text, err := os.ReadFile(f.resume)
	if err != nil {
		return err
	}
	s := &steps{app: a, file: f.resume, saved: text}
	if s.state, err = sweep.Decode(f.resume, text); err != nil {
		return err
	}
	for _, file := range []sweep.File{s.state.Jig, s.state.Calibration} {
		if file.Name == "" {
			continue
		}
		content, err := os.ReadFile(file.Name)
		if err == nil {
			err = file.Check(content)
		}
		if err != nil {
			return err
		}
	}
	if s.jig, err = readJig(s.state.Jig.Name); err != nil {
		return err
	}
	if s.cal, err = readCalibration(s.state.Calibration.Name); err != nil {
		return err
	}
	a.say("%d of %d points are there already.", len(s.state.Points), len(s.state.FrequenciesHz))
	f.live.level.level = s.state.Level
	return s.run(f)
}

// run measures what is left, and reports whatever is there.
func (s *steps) run(f sweepFlags) error {
	a := s.app
	cause := s.measure(f.live)
	a.progress.clear()
	if len(s.state.Points) == 0 && cause != nil {
		if f.resume == "" && s.own() {
			os.Remove(s.file) // nothing is in it
		}
		return cause
	}
	if cause != nil {
		a.tellUnfinished(s, cause)
	}
	if n := s.state.UnreachedCount; n > 0 {
		a.say("%d of %d points did not reach the wanted uncertainty.", n, len(s.state.Points))
	}
	f.jig = s.state.Jig.Name
	err := a.concludeSweep(f, s.report())
	if err == nil {
		err = a.out.Flush()
	}
	if err != nil || cause != nil {
		return err
	}
	if !s.own() {
		return nil
	}
	if err := os.Remove(s.file); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err // only now, as whatever ended the program before would have lost all points
	}
	return nil
}

// tellUnfinished says what ended the sweep, and what the file really holds of it.
func (a *app) tellUnfinished(s *steps, cause error) {
	why := plain(cause)
	if errors.Is(cause, context.Canceled) {
		why = "interrupted"
	}
	kept := 0
	text, err := os.ReadFile(s.file)
	if errors.Is(cause, errTaken) {
		err = cause
		why = "stopped"
	}
	if err == nil {
		var state *sweep.State
		if state, err = sweep.Decode(s.file, text); err == nil {
			kept = len(state.Points)
		}
	}
	made, wanted := len(s.state.Points), len(s.state.FrequenciesHz)
	switch {
	case err != nil:
		a.complain(fmt.Errorf("%s after %d of %d points; they are not kept (%w)", why, made, wanted, err))
		return
	case kept < made:
		a.complain(fmt.Errorf("%s after %d of %d points, of which %s keeps %d", why, made, wanted, s.file, kept))
	default:
		a.complain(fmt.Errorf("%s after %d of %d points, which %s keeps", why, made, wanted, s.file))
	}
	a.say("Go on with:")
	writeCommand(a.talk, []string{"wheatear", "sweep", "--resume", s.file})
}

// measure makes all points that are left. The file is written after each.
func (s *steps) measure(f liveFlags) error {
	if _, ok := s.state.Next(); !ok {
		return nil
	}
	a := s.app
	if err := s.save(); err != nil { // tried before anything is played
		return err
	}
	w, err := a.openSession(s.state.Jig.Name, s.jig, f, fmt.Sprintf("sweep %s from %d", s.state.Part, len(s.state.Points)))
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	s.work = w
	defer a.tellKept(w, nil)
	if err := putPart(w, s.state.Part); err != nil {
		return err
	}
	w.SetReading(a.readingOptions(s.cal))
	before := s.state.SignalS
	for {
		freqHz, ok := s.state.Next()
		if !ok {
			return nil
		}
		p, err := s.point(freqHz)
		if err != nil {
			return err
		}
		s.state.Points = append(s.state.Points, p)
		s.state.SignalS = before + w.Seconds()
		if err := s.save(); err != nil {
			return err
		}
	}
}

// point measures one. What an error leaves unfinished is measured anew later.
func (s *steps) point(freqHz float64) (*sweep.Point, error) {
	a, w := s.app, s.work
	a.progress.before = fmt.Sprintf("point %d of %d, ", len(s.state.Points)+1, len(s.state.FrequenciesHz))
	defer func() { a.progress.before = "" }()
	plan, err := w.Plan(a.ctx, []stimulus.ToneRequest{{FreqHz: freqHz}})
	if err != nil {
		return nil, err
	}
	subject := live.Subject{Role: fixture.PartRole, Name: s.state.Part}
	series, err := w.Average(a.ctx, subject, plan, s.cal, live.Goal{To: s.state.To, Seconds: s.state.WithinS})
	if err != nil {
		return nil, err
	}
	if s.state.To > 0 && !series.Reached {
		s.state.UnreachedCount++
	}
	m, err := a.liveReadings(measureFlags{}, s.jig, s.cal, series.Observations(), []float64{freqHz})
	if err != nil {
		return nil, err
	}
	p := &sweep.Point{Corrected: m.Readings[0].Corrected, Files: m.Files}
	p.Findings = append(p.Findings, series.Driver()...)
	return p, nil
}

// save writes the file in such a way that there is always a whole one.
func (s *steps) save() error {
	text, err := s.state.Encode()
	if err != nil {
		return err
	}
	if s.saved != nil && !s.own() {
		return fmt.Errorf("%s: %w", s.file, errTaken)
	}
	err = writeFile(s.file, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
	if err == nil {
		s.saved = text
	}
	return err
}

// own reports whether the file is as it was last written here, or gone.
func (s *steps) own() bool {
	text, err := os.ReadFile(s.file)
	return errors.Is(err, fs.ErrNotExist) || err == nil && bytes.Equal(text, s.saved)
}

// report is the sweep as far as it has come.
func (s *steps) report() *report.Sweep {
	r := &report.Sweep{
		Measurement: report.Measurement{Jig: s.jig, As: s.app.as, Calibration: s.state.Calibration.Name, Cal: s.cal},
		Part:        s.state.Part, Asked: len(s.state.FrequenciesHz), SignalS: s.state.SignalS,
	}
	for _, p := range s.state.Points {
		r.Files = append(r.Files, p.Files...)
		r.Readings = append(r.Readings, &report.Reading{Corrected: p.Corrected})
	}
	return r
}

// sweepTogether plays all tones at once and reports them.
func (a *app) sweepTogether(f sweepFlags, jig *fixture.Jig, cal *fixture.Calibration) error {
	s, err := a.togetherSweep(f, jig, cal)
	if err != nil {
		return err
	}
	return a.concludeSweep(f, s)
}

// togetherSweep plays all tones at once and reads them.
func (a *app) togetherSweep(f sweepFlags, jig *fixture.Jig, cal *fixture.Calibration) (*report.Sweep, error) {
	tones, err := sweepTones(f.frequencies, cal)
	if err != nil {
		return nil, err
	}
	w, plan, err := a.readyPart(f.jig, jig, f.live, "sweep "+f.part+" together", f.part, cal, tones)
	if err != nil {
		return nil, err
	}
	defer a.closeSession(w)
	subject := live.Subject{Role: fixture.PartRole, Name: f.part}
	series, err := w.Average(a.ctx, subject, plan, cal, live.Goal{To: f.to.value, Seconds: f.within.value})
	a.progress.clear()
	if len(series.Takes) == 0 {
		return nil, err
	}
	if err != nil {
		a.complain(err) // what was recorded before is read all the same
	}
	a.tellSeries(w, series)
	m, err := a.liveReadings(measureFlags{calibration: f.calibration}, jig, cal, series.Observations(), live.Frequencies(plan))
	if err != nil {
		return nil, err
	}
	m.AddFindings(series.Driver())
	a.tellKept(w, redoTogether(f, m.Files, live.Frequencies(plan)))
	return &report.Sweep{Measurement: *m, Part: f.part, Asked: len(plan.Tones), Together: true, SignalS: w.Seconds()}, nil
}

// redoTogether is the command that reads the same from what was kept.
func redoTogether(f sweepFlags, files []string, freqsHz []float64) []string {
	line := []string{"wheatear", "sweep", "--jig", f.jig}
	if f.calibration != "" {
		line = append(line, "--calibration", f.calibration)
	}
	line = append(line, "--at", exact(freqsHz))
	for _, file := range files {
		line = append(line, "--recording", file)
	}
	return line
}
