package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/csv"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/uncertain"
)

// stretch is a flag for a stretch of time.
type stretch struct{ seconds float64 }

// minute, hour and day in seconds, by the units that people write.
var longer = []struct {
	unit    string
	seconds float64
}{{"min", 60}, {"m", 60}, {"h", 3600}, {"d", 86400}}

func (s *stretch) Set(text string) error {
	number, factor := strings.TrimSpace(text), 1.0
	for _, l := range longer {
		if n, ok := strings.CutSuffix(number, l.unit); ok {
			number, factor = n, l.seconds
			break
		}
	}
	v, err := parts.ParsePositive(number, parts.Second)
	if err != nil || v*factor > 366*86400 {
		return fmt.Errorf("%q is no stretch of time up to a year: write it as 10s, 5min or 2h", text)
	}
	s.seconds = v * factor
	return nil
}

func (s *stretch) String() string {
	if s.seconds == 0 {
		return ""
	}
	return strconv.FormatFloat(s.seconds, 'g', -1, 64) + "s"
}
func (s *stretch) Type() string { return "TIME" }

func (s *stretch) duration() time.Duration { return time.Duration(s.seconds * float64(time.Second)) }

// watching is a part that is read again and again.
type watching struct {
	app     *app
	f       measureFlags
	work    *work
	plan    *stimulus.Plan
	cal     *fixture.Calibration
	line    watchLine
	follow  live.Follower
	begun   time.Time
	last    *report.Measurement // not yet in the notebook
	element impedance.Element   // that the first reading is told by
	doc     *result.Watched
	past    []notebook.PastPoint
}

// watch reads the part again and again, until somebody or the time ends it.
func (a *app) watch(f measureFlags, w *work, plan *stimulus.Plan, cal *fixture.Calibration) error {
	o := &watching{app: a, f: f, work: w, plan: plan, cal: cal, begun: a.now(),
		line: watchLine{app: a, json: f.json, same: isTerminal(a.stdout) && !f.json}}
	a.progress.clear()
	a.progress.on = false // one moving line is enough
	if o.line.same {
		a.say("Reading; ctrl-C ends it.")
	}
	err := o.run()
	o.line.end()
	if o.last != nil {
		a.enterMeasurement(f, o.last)
	}
	if o.doc == nil {
		return err
	}
	return errors.Join(err, o.conclude())
}

func (o *watching) run() error {
	every := o.f.every.duration()
	for n := 0; ; n++ {
		due := o.begun.Add(time.Duration(n) * every)
		if err := o.app.wait(o.app.ctx, due.Sub(o.app.now())); err != nil {
			return nil // somebody ended it
		}
		if late := o.app.now().Sub(due); every > 0 && late > every { // what was missed is not made up for
			n += int(late / every)
		}
		at := o.app.now()
		err := o.read(at)
		if errors.Is(err, context.Canceled) && n > 0 {
			return nil
		}
		if err != nil {
			return err
		}
		if o.over(every) {
			return nil
		}
	}
}

// over reports whether the time is up, before the next reading.
func (o *watching) over(every time.Duration) bool {
	within := o.f.within.duration()
	switch {
	case within == 0:
		return false
	case every > 0:
		return o.app.now().Sub(o.begun) > within-every
	}
	return o.work.Seconds() >= o.f.within.seconds
}

// read makes one reading, shows it and keeps it.
func (o *watching) read(at time.Time) error {
	a, freqs := o.app, live.Frequencies(o.plan)
	t, err := o.work.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: o.f.part}, o.plan)
	if err != nil {
		return err
	}
	known := len(t.Observation.Analysis.Findings)
	o.follow.See(o.work.jig, &t.Observation, freqs)
	changes := t.Observation.Analysis.Findings[known:]
	m, err := a.liveReadings(o.f, o.work.jig, o.cal, []fixture.Observation{t.Observation}, freqs)
	if err != nil {
		return err
	}
	if t.Driver != nil {
		m.AddFindings([]finding.Finding{*t.Driver})
	}
	if o.f.every.seconds > 0 {
		o.see(at, m.Document(), changes)
	}
	if err := o.line.show(m, at, o.doc); err != nil {
		return err
	}
	if o.last = m; o.f.entry.label != "" || o.doc != nil {
		a.enterMeasurement(o.f, m)
		o.last = nil
	}
	if o.doc == nil {
		return nil
	}
	return a.writePaper(o.f.csv, func(w io.Writer) error { return csv.Write(w, tell.Watched(o.doc)) })
}

// see adds a reading to what is known of the part over time.
func (o *watching) see(at time.Time, m *result.Measurement, changes []finding.Finding) {
	r := &m.Readings[0]
	if o.doc == nil {
		o.doc = &result.Watched{Schema: result.WatchedSchema, Jig: m.Jig, Calibration: m.Calibration, NominalHz: r.NominalHz,
			EveryS: o.f.every.seconds, Points: []result.WatchedPoint{}, Changes: []result.WatchedChange{}, RestsOn: m.RestsOn}
		if o.f.part != "" {
			o.doc.Part = &o.f.part
		}
	}
	d := o.doc
	for _, f := range changes {
		d.Changes = append(d.Changes, result.WatchedChange{Time: at, Finding: f})
	}
	if d.Quantity == "" && r.Trusted && r.Main != nil {
		o.element, _ = r.Main.What()
		d.Quantity, d.Unit = o.element.Symbol(), o.element.Unit()
	}
	q := uncertain.Absent()
	if r.Trusted && d.Quantity != "" {
		q = o.element.In(r.Reading())
	}
	if q.IsAbsent() || !(q.U > 0) || math.IsInf(q.Low, 0) || math.IsInf(q.High, 0) {
		d.Refused++
		return
	}
	d.Points = append(d.Points, result.WatchedPoint{Time: at, Value: q})
	o.past = append(o.past, notebook.PastPoint{Time: at, Value: q.Value, U: q.U, Low: q.Low, High: q.High})
	d.Drift = drift(notebook.TrendOf(o.past))
}

// drift is a trend per hour; nil where there is none.
func drift(t *notebook.Trend) *result.Drift {
	if t == nil {
		return nil
	}
	about := func(v, u, by float64) uncertain.Quantity {
		half := t.Least / t.U * u
		return uncertain.Quantity{Value: v * by, U: u * by, Low: (v - half) * by, High: (v + half) * by}
	}
	const hour = 3600
	return &result.Drift{Middle: t.Middle, Value: about(t.Mean, t.MeanU, 1), PerHour: about(t.Slope, t.U, hour), Relative: about(t.Slope, t.U, hour*1e6/math.Abs(t.Mean))}
}

// conclude tells what the part did over time.
func (o *watching) conclude() error {
	a, told := o.app, tell.Watched(o.doc)
	var err error
	if o.f.json {
		err = result.WriteLine(a.out, o.doc)
	} else {
		fmt.Fprintln(a.out)
		err = a.show(o.doc, told, false, false)
	}
	if o.f.plot != "" {
		err = errors.Join(err, a.draw(o.f.plot, block.ChartOf(told).Draw))
	}
	if o.f.paper != "" {
		err = errors.Join(err, a.writeReport(o.f.paper, told))
	}
	return err
}

// sleep waits; it ends with an error where the context does.
func sleep(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return nil
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(d):
		return nil
	}
}

// watchLine is the steady line.
type watchLine struct {
	app  *app
	json bool
	same bool // written over and over
	any  bool
}

// show writes the reading; with doc the time and the drift so far, too.
func (l *watchLine) show(m *report.Measurement, at time.Time, doc *result.Watched) error {
	a := l.app
	for _, r := range m.Readings {
		if !r.Trusted {
			a.status.join(Untrusted)
		}
		m.AddFindings(r.Findings)
	}
	l.any = true
	cells := tell.Watch(m.Document())
	if doc != nil {
		cells = tell.WatchOver(cells, at, doc.Drift)
	}
	var err error
	switch {
	case l.json:
		err = result.WriteLine(a.out, m.Document())
	case l.same:
		_, err = fmt.Fprintf(a.out, "\r%s\x1b[K", text.Line(cells, text.LookOf(a.stdout)))
	default:
		_, err = fmt.Fprintln(a.out, text.Line(cells, text.Look{}))
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
