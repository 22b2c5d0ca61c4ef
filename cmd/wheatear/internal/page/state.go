package page

import (
	"fmt"
	"time"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// State is everything that a page needs to show where things stand. It is sent
// whenever it changes, and whole: a page that was away misses nothing.
type State struct {
	Schema      string           `json:"schema"`
	Version     string           `json:"version"`
	Cautions    bool             `json:"cautions_read"`
	Jigs        []*jigEntry      `json:"jigs"`
	Jig         *JigView         `json:"jig"`   // null before one is chosen
	Owner       *activityView    `json:"owner"` // of the card; null while it is free
	Live        LiveSettings     `json:"live"`
	Tray        *TrayView        `json:"tray"` // null for a real jig
	Calibration *CalibrationView `json:"calibration"`
	Guide       *guide           `json:"guide"` // the calibration under way; null for none
	Sweep       *SweepState      `json:"sweep"`
	Readings    int              `json:"readings"`
	Tasks       []TaskView       `json:"tasks"` // that can be done here
	Talk        []string         `json:"talk"`  // the last lines of the task that runs; null while none does
	Sorting     *SortView        `json:"sorting"`
	Notice      *Notice          `json:"notice"`
	Notebook    *NotebookView    `json:"notebook"` // null where it is switched off
}

const stateSchema = "wheatear.state/1"

// JigView is the jig in use.
type JigView struct {
	Key       string `json:"key"`
	Name      string `json:"name"`
	About     string `json:"about"`
	Simulated bool   `json:"simulated"`
	Level     string `json:"level"`
	Folder    string `json:"folder"`
	Load      string `json:"load"` // that would do for a calibration
}

// CalibrationView is the calibration in use.
type CalibrationView struct {
	Date      time.Time `json:"date"`
	Points    int       `json:"points"`
	From      string    `json:"from"`
	To        string    `json:"to"`
	Freqs     []float64 `json:"frequencies_hz"`
	Standards []string  `json:"standards"`
	Settled   bool      `json:"settled"` // nothing is left to what is usual of jigs
}

// SweepState says how far the sweep is; its points are fetched by themselves.
type SweepState struct {
	Part     string       `json:"part"`
	Request  SweepRequest `json:"request"`
	Done     int          `json:"done"`
	Asked    int          `json:"asked"`
	Finished bool         `json:"finished"`
	Begun    time.Time    `json:"begun"`
}

// State is how things stand.
func (b *Bench) State() *State {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.state()
}

// changed tells the pages. The lock is held.
func (b *Bench) changed() { b.hub.send("state", b.state()) }

// notify tells the pages. The lock is not held.
func (b *Bench) notify() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.changed()
}

func (b *Bench) state() *State {
	s := &State{
		Schema: stateSchema, Version: b.opts.Version, Cautions: b.saved.Cautions != nil, Jigs: b.jigs,
		Live: b.saved.Live, Notice: b.notice, Tasks: []TaskView{}, Talk: b.talk, Notebook: b.book.view(),
	}
	for _, k := range taskKinds() {
		if b.has(k.name) {
			s.Tasks = append(s.Tasks, b.desk.taskView(k.name))
		}
	}
	if b.active != nil {
		v := b.active.view()
		s.Owner = &v
	}
	if d := b.desk; d != nil {
		s.Jig, s.Tray, s.Calibration, s.Guide = d.view(), d.tray(), d.calibrationView(), d.steps.copy(d.jig)
		s.Sweep, s.Readings, s.Sorting = d.sweepState(), len(d.readings), d.sorting.view()
	}
	return s
}

// TaskView says when a task was done last.
type TaskView struct {
	Name string     `json:"name"`
	Time *time.Time `json:"time"` // null where it has not been
}

func (d *desk) taskView(name string) TaskView {
	v := TaskView{Name: name}
	if d != nil && d.tasks[name] != nil {
		v.Time = &d.tasks[name].Time
	}
	return v
}

func (d *desk) view() *JigView {
	level := fmt.Sprintf("%gdBFS", d.jig.Card.Level.Value)
	if d.jig.Card.Level.Volts {
		level = fmt.Sprintf("%gV", d.jig.Card.Level.Value)
	}
	v := &JigView{Key: d.Key, Name: d.Name, About: d.About, Simulated: d.card != nil, Level: level, Folder: d.dir}
	if d.card != nil {
		v.Load = parts.FormatValue(d.jig.ReferenceOhm, parts.None) + "/" + fmt.Sprintf("%g%%", 100*d.jig.ReferenceTolerance)
	}
	return v
}

func (d *desk) calibrationView() *CalibrationView {
	if d.cal == nil {
		return nil
	}
	freqs := d.cal.Frequencies()
	v := &CalibrationView{Date: d.cal.About.Date, Points: len(freqs), Freqs: freqs, Settled: true,
		From: place(freqs[0]), To: place(freqs[len(freqs)-1]), Standards: d.cal.Points[0].Standards}
	for _, p := range d.cal.Points {
		v.Settled = v.Settled && p.Settled
	}
	return v
}

func (d *desk) sweepState() *SweepState {
	if d.sweep == nil {
		return nil
	}
	st := d.sweep.state
	_, left := st.Next()
	return &SweepState{Part: st.Part, Request: d.sweep.Request, Done: len(st.Points), Asked: len(st.FrequenciesHz), Finished: !left, Begun: d.sweep.Begun}
}

// copy is one that does not change any more.
func (g *guide) copy(jig *fixture.Jig) *guide {
	if g == nil {
		return nil
	}
	c := *g
	c.Steps = nil
	for _, s := range g.Steps {
		step := *s
		step.expect(jig)
		c.Steps = append(c.Steps, &step)
	}
	return &c
}
