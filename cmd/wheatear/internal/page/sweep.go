package page

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/sweep"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

// SweepRequest asks for a sweep.
type SweepRequest struct {
	Part     string `json:"part"`
	At       string `json:"at"`
	Together bool   `json:"together"` // all tones at once
	To       string `json:"to"`
	Seconds  string `json:"within"`
	Level    string `json:"level"`
}

// sweepRun is the last sweep of a jig, finished or not.
type sweepRun struct {
	Request SweepRequest
	Begun   time.Time
	state   *sweep.State
	goal    live.Goal
	tones   []stimulus.ToneRequest // of all at once
}

// sweepFile is how it is kept.
type sweepFile struct {
	Schema  string          `json:"schema"`
	Request SweepRequest    `json:"request"`
	Begun   time.Time       `json:"begun"`
	State   json.RawMessage `json:"state"`
}

const sweepSchema = "wheatear.bench-sweep/1"

func (d *desk) readSweep() error {
	var f sweepFile
	if err := readJSON(d.path(sweepName), &f); err != nil || f.Schema != sweepSchema {
		return err
	}
	state, err := sweep.Decode(d.path(sweepName), f.State)
	if err != nil {
		return err
	}
	d.sweep = &sweepRun{Request: f.Request, Begun: f.Begun, state: state}
	return d.sweep.understand()
}

// understand reads the goal and the tones of the request.
func (r *sweepRun) understand() (err error) {
	if r.tones, err = someTones(r.Request.At); err != nil {
		return err
	}
	r.goal, err = parseGoal(r.Request.To, r.Request.Seconds)
	return err
}

// keepSweep writes the sweep as far as it has come. The lock is held.
func (d *desk) keepSweep() error {
	state, err := d.sweep.state.Encode()
	if err != nil {
		return err
	}
	return writeJSON(d.path(sweepName), sweepFile{sweepSchema, d.sweep.Request, d.sweep.Begun, state})
}

// StartSweep begins a sweep. One that is there goes aside, into the folder sweeps.
func (b *Bench) StartSweep(req SweepRequest, tab string) error {
	r := &sweepRun{Request: req, Begun: b.opts.Now(), state: &sweep.State{Part: req.Part}}
	if err := r.understand(); err != nil {
		return err
	}
	level, err := parseLevel(req.Level)
	if err != nil {
		return err
	}
	r.state.Level, r.state.To, r.state.WithinS = level, r.goal.To, r.goal.Seconds
	return b.begin(SweepKind, req.Part, tab, func(a *activity, d *desk) error {
		r.state.Part = b.partName(d, req.Part)
		if err := b.placeSweep(d, r); err != nil {
			return err
		}
		return b.runSweep(a, d)
	})
}

// placeSweep finds the frequencies and puts the sweep in the place of the last.
func (b *Bench) placeSweep(d *desk, r *sweepRun) error {
	var err error
	if r.state.FrequenciesHz, err = sweep.Place(d.jig.Card.RateHz, d.jig.MainsHz, b.calibrated(d, r.tones)); err != nil {
		return err
	}
	r.state.Jig = sweep.NewFile(filepath.Base(d.jigEntry.file), d.text)
	if d.cal != nil {
		text, err := os.ReadFile(d.path(calibrationName))
		if err != nil {
			return err
		}
		r.state.Calibration = sweep.NewFile(calibrationName, text)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := d.putAside(); err != nil {
		return err
	}
	d.sweep = r
	defer b.changed()
	return d.keepSweep()
}

// putAside moves a sweep with points into a folder, where it stays.
func (d *desk) putAside() error {
	if d.sweep == nil || len(d.sweep.state.Points) == 0 {
		return nil
	}
	dir := d.path("sweeps")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	name := fmt.Sprintf("%s-%s.json", d.sweep.Begun.Format("20060102-150405.000"), slug(d.sweep.state.Part))
	return os.Rename(d.path(sweepName), filepath.Join(dir, name))
}

// calibrated moves tones that may be moved to calibrated ones.
func (b *Bench) calibrated(d *desk, tones []stimulus.ToneRequest) []stimulus.ToneRequest {
	b.mu.Lock()
	defer b.mu.Unlock()
	if d.cal == nil {
		return tones
	}
	return sweep.Near(tones, d.cal.Frequencies())
}

// ResumeSweep goes on with a sweep that is not finished.
func (b *Bench) ResumeSweep(tab string) error {
	b.mu.Lock()
	var r *sweepRun
	if b.desk != nil {
		r = b.desk.sweep
	}
	b.mu.Unlock()
	if r == nil {
		return conflict("there is no sweep to go on with")
	}
	if _, left := r.state.Next(); !left {
		return conflict("the sweep is finished; begin another")
	}
	return b.begin(SweepKind, r.state.Part, tab, func(a *activity, d *desk) error {
		if err := d.unchanged(); err != nil {
			return err
		}
		return b.runSweep(a, d)
	})
}

// unchanged makes sure that jig and calibration are those the sweep was begun with.
func (d *desk) unchanged() error {
	if err := d.sweep.state.Jig.Check(d.text); err != nil {
		return err
	}
	if d.sweep.state.Calibration.Name == "" && d.cal == nil {
		return nil
	}
	text, err := os.ReadFile(d.path(calibrationName))
	if err == nil {
		err = d.sweep.state.Calibration.Check(text)
	}
	return err
}

// runSweep measures what is left of the sweep of a desk.
func (b *Bench) runSweep(a *activity, d *desk) error {
	r := d.sweep
	s, err := b.session(a, d, r.state.Level, true)
	if err != nil {
		return err
	}
	defer s.Close()
	if r.Request.Together {
		return b.sweepTogether(a, d, s)
	}
	before := r.state.SignalS
	for {
		freqHz, left := r.state.Next()
		if !left {
			return nil
		}
		series, err := b.sweepTake(a, d, s, []stimulus.ToneRequest{{FreqHz: freqHz}})
		if err != nil {
			return err
		}
		if err := b.addPoints(d, s, series, []float64{freqHz}, before); err != nil {
			return err
		}
		if _, left := r.state.Next(); !left {
			b.enterSweep(d)
		}
	}
}

// sweepTogether records all tones at once.
func (b *Bench) sweepTogether(a *activity, d *desk, s *live.Session) error {
	tones := []stimulus.ToneRequest{}
	for _, f := range d.sweep.state.FrequenciesHz {
		tones = append(tones, stimulus.ToneRequest{FreqHz: f})
	}
	series, err := b.sweepTake(a, d, s, tones)
	if err != nil {
		return err
	}
	if err := b.addPoints(d, s, series, d.sweep.state.FrequenciesHz, 0); err != nil {
		return err
	}
	b.enterSweep(d)
	return nil
}

// enterSweep puts a finished sweep into the notebook.
func (b *Bench) enterSweep(d *desk) {
	if s, err := b.sweepCopy(); err == nil {
		redo := d.redoParts("sweep", d.sweep.state.FrequenciesHz, s.Files)
		b.enter(d, s.Part, "", s.Files, func(w io.Writer) error { return result.Write(w, s.Document()) }, redo...)
	}
}

// enter puts a result into the notebook, where there is one; redo is the command that
// makes it again, where there is one.
func (b *Bench) enter(d *desk, part, note string, files []string, write func(io.Writer) error, redo ...string) {
	if b.opts.Enter == nil {
		return
	}
	calFile := ""
	if d.cal != nil {
		calFile = d.path(calibrationName)
	}
	var full []string
	for _, f := range files {
		full = append(full, d.path(recordingsName+"/"+f))
	}
	if err := b.opts.Enter(part, note, d.jigEntry.file, calFile, d.cal, full, redo, write); err != nil {
		b.tell("Kept in the folder, but not in the notebook: "+report.Plain(err)+".", true)
		return
	}
	b.book.changes.Add(1)
	b.notify()
}

func (b *Bench) sweepTake(a *activity, d *desk, s *live.Session, tones []stimulus.ToneRequest) (*live.Averaged, error) {
	plan, err := s.Plan(a.ctx, tones)
	if err != nil {
		return nil, err
	}
	subject := live.Subject{Role: fixture.PartRole, Name: d.sweep.state.Part}
	series, err := s.Average(a.ctx, subject, plan, d.cal, d.sweep.goal)
	b.counts.records.Add(int64(len(series.Takes)))
	return series, err
}

// addPoints reads tones of what was recorded, keeps and shows them.
func (b *Bench) addPoints(d *desk, s *live.Session, series *live.Averaged, freqsHz []float64, before float64) error {
	var files []string
	for _, t := range series.Takes {
		files = append(files, filepath.Base(t.Observation.File))
	}
	var points []*sweep.Point
	for _, f := range freqsHz {
		c, err := live.Measure(d.jig, d.cal, plainNames(series.Observations()), f, s.Reading())
		if err != nil {
			return err
		}
		c.Findings = append(c.Findings, series.Driver()...)
		points = append(points, &sweep.Point{Corrected: c, Files: files})
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	st := d.sweep.state
	st.Points = append(st.Points, points...)
	st.SignalS = before + s.Seconds()
	if st.To > 0 && !series.Reached {
		st.UnreachedCount += len(points)
	}
	defer b.changed()
	return d.keepSweep()
}

// report is the sweep as the command line would report it; nil for none. The lock is held.
func (d *desk) sweepReport() *report.Sweep {
	if d == nil || d.sweep == nil {
		return nil
	}
	st := d.sweep.state
	r := &report.Sweep{
		Measurement: report.Measurement{Jig: d.jig, Calibration: st.Calibration.Name},
		Part:        st.Part, Asked: len(st.FrequenciesHz), Together: d.sweep.Request.Together, SignalS: st.SignalS,
	}
	if st.Calibration.Name != "" {
		r.Cal = d.cal
	}
	for _, p := range st.Points {
		r.Files = append(r.Files, p.Files...)
		r.Readings = append(r.Readings, &report.Reading{Corrected: p.Corrected})
		r.AddFindings(p.Findings)
	}
	return r
}
