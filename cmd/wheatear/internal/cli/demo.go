package cli

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/render/csv"

	"github.com/spf13/cobra"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/demo"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

func newDemo(a *app) *cobra.Command {
	var dir string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Show what all this is about, without hardware or files",
		Long: `Demo sets up a simulated jig with the faults of a real one, calibrates it,
measures parts of which the truth is known, and shows both side by side. It
leaves a folder with the jig file, the tray of parts, the calibration, all
recordings, plots, and in commands.txt what to type to repeat it by hand.

The same comes out every time.

JSON: {"schema": "wheatear.demo/1", "folder", "readings": [{"part",
"frequency_hz", "unit", "truth", "reading", "holds"}]}.`,
		Example: "  wheatear demo --keep timer",
		Args:    noArgs,
		RunE:    func(*cobra.Command, []string) error { return a.demo(dir, asJSON) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&dir, "keep", "", "new `DIR` for everything (default one in the system's folder for such)")
	flags.BoolVar(&asJSON, "json", false, "print the readings as JSON")
	return cmd
}

// bench is the demo under way.
type demoBench struct {
	app  *app
	dir  string
	jig  *fixture.Jig
	cal  *fixture.Calibration
	doc  *result.Demo
	also report.Measurement // collects what the records showed, each once
}

func (a *app) demo(dir string, asJSON bool) error {
	b := &demoBench{app: a, doc: &result.Demo{Schema: result.DemoSchema, Readings: []result.DemoReading{}, Bench: &result.DemoBench{},
		Coil: &result.DemoCoil{Part: demo.Coil, ResonanceHz: demo.CoilResonanceHz(), Farad: demo.CoilFarad}}}
	for _, step := range []func() error{
		func() error { return b.setUp(dir) }, b.calibrate, b.measure, b.sweep, b.writeCommands,
	} {
		if err := step(); err != nil {
			return err
		}
	}
	a.progress.before = ""
	b.doc.Findings = b.also.Findings
	if err := a.show(b.doc, tell.Demo(b.doc), asJSON, false); err != nil {
		return err
	}
	if err := a.out.Flush(); err != nil { // before what comes after it
		return err
	}
	fmt.Fprintln(a.talk)
	a.say("Everything is in %s: commands.txt tells how to repeat it by hand.", b.dir)
	return nil
}

// file is the name of a file of the demo.
func (b *demoBench) file(name string) string { return filepath.Join(b.dir, name) }

// setUp makes the folder, with jig file and tray.
func (b *demoBench) setUp(dir string) error {
	var err error
	if dir == "" {
		dir, err = os.MkdirTemp("", "wheatear-demo-")
	} else if err = os.MkdirAll(dir, 0o700); err == nil {
		err = empty(dir)
	}
	if err != nil {
		return err
	}
	b.dir, b.doc.Folder = dir, dir
	if err := os.WriteFile(b.file("jig.toml"), demo.Jig, 0o600); err != nil {
		return err
	}
	if err := os.WriteFile(b.file("tray.toml"), demo.Tray, 0o600); err != nil {
		return err
	}
	tray, err := virtual.ParseTray("tray.toml", demo.Tray)
	if err != nil {
		return err
	}
	bench, j, f := b.doc.Bench, tray.Jig, tray.Faults
	bench.LeadOhm, bench.LeadHenry, bench.FixtureFarad = j.LeadOhm, j.LeadHenry, j.FixtureFarad
	bench.HumHz, bench.Mismatch, bench.DelaySamples, bench.ClockPPM = f.Hum.Hz, f.Gain[1], f.Delay[1], f.ClockPPM
	b.jig, err = readJig(b.file("jig.toml"))
	return err
}

// empty refuses a folder in which there is something: the demo would mix with it.
func empty(dir string) error {
	entries, err := os.ReadDir(dir)
	if err == nil && len(entries) > 0 {
		err = fmt.Errorf("%s is not empty; name a new folder for the demo", dir)
	}
	return err
}

// open opens the simulated card for one use, whose recordings are kept.
func (b *demoBench) open(what string) (*work, error) {
	b.app.progress.before = what + ", "
	w, err := b.app.openSession(b.file("jig.toml"), b.jig, liveFlags{keep: b.file("recordings")}, what)
	if err != nil {
		return nil, err
	}
	w.SetReading(b.app.readingOptions(b.cal))
	return w, nil
}

// calibrate does what the command calibrate does.
func (b *demoBench) calibrate() error {
	a := b.app
	w, err := b.open("calibrate")
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	load, err := parseLoad(demo.Load)
	if err != nil {
		return err
	}
	plan, err := b.plan(w, demo.SweepAt)
	if err != nil {
		return err
	}
	subjects := []live.Subject{{Role: fixture.Open}, {Role: fixture.Short}, {Role: fixture.LoadRole, Load: &load}}
	standards, err := w.Standards(a.ctx, w.Hand(), subjects, plan)
	if err != nil {
		return err
	}
	if standards.Stopped {
		a.findings(standards.Refused)
		return errors.New("a standard of the simulated jig was refused")
	}
	cal, findings, err := live.Calibrate(b.jig, standards.Observations, live.Frequencies(plan), fixture.About{Date: a.now(), Card: w.Card()})
	if err != nil {
		return err
	}
	if finding.Worst(findings) == finding.Invalid {
		a.findings(findings)
		return errors.New("the simulated jig could not be calibrated")
	}
	b.cal = cal
	for i, f := range findings {
		findings[i].File = strings.TrimSuffix(filepath.Base(f.File), ".wav")
	}
	b.also.AddFindings(findings)
	b.doc.Bench.TonesHz, b.doc.Bench.SignalS = cal.Frequencies(), w.Seconds()
	return writeCalibration(b.file("cal.json"), cal)
}

// plan plans the tones of the notation of --at.
func (b *demoBench) plan(w *work, at string) (*stimulus.Plan, error) {
	var f frequencies
	if err := f.Set(at); err != nil {
		return nil, err
	}
	tones, err := liveTones(f, b.cal)
	if err != nil {
		return nil, err
	}
	return w.Plan(b.app.ctx, tones)
}

// measure reads every part of the tray.
func (b *demoBench) measure() error {
	for _, p := range demo.Parts() {
		if err := b.part(p); err != nil {
			return err
		}
	}
	return nil
}

// part does what the command measure does, and takes what is shown.
func (b *demoBench) part(p demo.Part) error {
	a := b.app
	w, err := b.open("measure " + p.Name)
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	if err := w.Put(p.Name); err != nil {
		return err
	}
	plan, err := b.plan(w, demo.At)
	if err != nil {
		return err
	}
	series, err := w.Average(a.ctx, live.Subject{Role: fixture.PartRole, Name: p.Name}, plan, b.cal, live.Goal{})
	if err != nil {
		return err
	}
	var shown []float64
	for _, about := range p.ShownHz {
		shown = append(shown, closest(live.Frequencies(plan), about))
	}
	m, err := a.liveReadings(measureFlags{}, b.jig, b.cal, series.Observations(), shown)
	if err != nil {
		return err
	}
	b.find(p.Name, m.Findings)
	doc := m.Document()
	for i, freqHz := range shown {
		b.find(p.Name, m.Readings[i].Findings)
		b.doc.Readings = append(b.doc.Readings, result.NewDemoReading(p.Name, &doc.Readings[i], demo.Exact(p.Truth(freqHz), freqHz)))
	}
	return nil
}

// find adds findings about a part; the files are those of a folder whose name may
// be another each time.
func (b *demoBench) find(part string, findings []finding.Finding) {
	for _, f := range findings {
		f.File = part
		b.also.AddFindings([]finding.Finding{f})
	}
}

// closest returns the frequency that is nearest.
func closest(freqsHz []float64, hz float64) float64 {
	best := freqsHz[0]
	for _, f := range freqsHz {
		if math.Abs(f-hz) < math.Abs(best-hz) {
			best = f
		}
	}
	return best
}

// sweep draws the coil, and the capacitor of the supply, over frequency.
func (b *demoBench) sweep() error {
	for _, name := range []string{demo.Coil, "supply-electrolytic"} {
		if err := b.sweepPart(name); err != nil {
			return err
		}
	}
	return nil
}

func (b *demoBench) sweepPart(name string) error {
	a := b.app
	w, err := b.open("sweep " + name + " together")
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	if err := w.Put(name); err != nil {
		return err
	}
	plan, err := b.plan(w, demo.SweepAt)
	if err != nil {
		return err
	}
	series, err := w.Average(a.ctx, live.Subject{Role: fixture.PartRole, Name: name}, plan, b.cal, live.Goal{})
	if err != nil {
		return err
	}
	m, err := a.liveReadings(measureFlags{calibration: "cal.json"}, b.jig, b.cal, series.Observations(), live.Frequencies(plan))
	if err != nil {
		return err
	}
	s := &report.Sweep{Measurement: *m, Part: name, Together: true, Asked: len(m.Readings), SignalS: w.Seconds()}
	if err := writeFile(b.file(name+".csv"), func(out io.Writer) error { return csv.Write(out, tell.Sweep(s.Document())) }); err != nil {
		return err
	}
	return a.draw(b.file(name+".svg"), block.ChartOf(tell.Sweep(s.Document())).Draw)
}

// writeCommands leaves the commands that repeat the demo.
func (b *demoBench) writeCommands() error {
	return os.WriteFile(b.file("commands.txt"), []byte(demo.Commands()), 0o600)
}
