package cli

import (
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	lvl "example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/stimulus"
)

// levelFlags is what the command level can be told.
type levelFlags struct {
	jig         string
	calibration string
	at          frequencies
	lowest      level
	highest     level
	steps       int
	recordings  []string
	part        string
	keep        string
	plot, paper string
	json        bool
}

func newLevel(a *app) *cobra.Command {
	f := levelFlags{lowest: level{-50}, highest: level{-6}, steps: 9}
	cmd := &cobra.Command{
		Use:   "level --jig FILE --at FREQUENCY",
		Short: "Read a part at several levels, and tell what depends on level",
		Long: `Level reads a part at one frequency with levels from low to high, and tells how
C, L or R and the loss depend on it, what they would be at level zero, at which
level the part begins to depart from that, and what kind of part does so: a
junction that conducts, a class-2 ceramic, an iron core, or something slow such
as heat. Harmonics that the source plays are told from those that rise in the
part.

The levels are those at the part, in volts and amperes rms where the jig file
gives full_scale, and otherwise on the scale of the card. --recording reads the
points from recordings instead, one for each level.

JSON: {"schema": "wheatear.level/1", "jig", "calibration", "part", "quantity",
"unit", "zero", "law", "change", "change_u", "onset", "kind", "confidence",
"reasons": [...], "readings": [...], "harmonics": [[{"order", "relative", "u"}]],
"findings": [...]}; readings are those of measure --json.`,
		Example: `  wheatear level --jig bench.toml --calibration live.json --at 1k --part c10u \
      --plot c10u-level.svg`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.level(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	addJig(flags, &f.jig, &f.calibration)
	flags.Var(&f.at, "at", "one frequency: 1k  ~1k")
	flags.Var(&f.lowest, "lowest", "live: level of the first reading")
	flags.Var(&f.highest, "highest", "live: level of the last reading")
	flags.IntVar(&f.steps, "steps", f.steps, "live: `NUMBER` of levels")
	flags.StringVar(&f.part, "part", "", "live: `NAME` of the part, for the names of recordings; the simulated jig puts it in")
	flags.StringVar(&f.keep, "keep", "", "live: keep every recording in directory `DIR`")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` at one level; may be repeated")
	a.addAs(flags)
	a.addAround(flags)
	flags.StringVar(&f.plot, "plot", "", "draw the curves into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.paper, "report", "", "write a report with all that it rests on to `FILE`, .html")
	flags.BoolVar(&f.json, "json", false, "print the result as JSON")
	return cmd
}

func (a *app) level(f levelFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	if err := a.takeBench(&f.jig, &f.calibration, f.at, f.recordings); err != nil {
		return err
	}
	jig, err := readJig(f.jig)
	if err != nil {
		return err
	}
	cal, err := readCalibration(f.calibration)
	if err != nil {
		return err
	}
	l := &report.LevelStudy{Measurement: report.Measurement{Jig: jig, As: a.as, Calibration: f.calibration, Cal: cal}, Part: f.part}
	var cause error
	if len(f.recordings) > 0 {
		cause = a.levelsOfRecordings(f, l)
	} else {
		cause = a.levelsLive(f, l)
	}
	a.progress.clear()
	if len(l.Readings) == 0 && cause != nil {
		return cause
	}
	if cause != nil {
		a.complain(cause)
	}
	return a.concludeLevels(f, l)
}

// check refuses what makes no sense together.
func (f *levelFlags) check() error {
	if f.plot != "" {
		if _, err := plot.FormatOf(f.plot); err != nil {
			return &statusError{Usage, err}
		}
	}
	switch {
	case len(f.at.requests) != 1 || f.at.all():
		return usagef("at which frequency? Level reads at one: --at 1k")
	case f.steps < 2 || f.steps > 100:
		return usagef("--steps %d: give 2 to 100 levels", f.steps)
	case !(f.lowest.db < f.highest.db-1):
		return usagef("--lowest %s is not below --highest %s", f.lowest.String(), f.highest.String())
	case len(f.recordings) == 1:
		return usagef("one recording has one level: give --recording at least twice")
	case len(f.recordings) > 0 && (f.part != "" || f.keep != ""):
		return usagef("--part and --keep are for playing and recording; leave them or --recording out")
	}
	return nil
}

// at is the level of a step in decibels.
func (f *levelFlags) step(n int) float64 {
	return f.lowest.db + (f.highest.db-f.lowest.db)*float64(n)/float64(f.steps-1)
}

// levelsLive plays every level and reads the part.
func (a *app) levelsLive(f levelFlags, l *report.LevelStudy) error {
	tones, err := liveTones(f.at, l.Cal)
	if err != nil {
		return err
	}
	w, err := a.openSession(f.jig, l.Jig, liveFlags{keep: f.keep, level: playLevel{&fixture.Level{Value: f.lowest.db}}}, "level "+f.part)
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	defer a.tellKept(w, nil)
	w.SetReading(a.readingOptions(l.Cal))
	if err := putPart(w, f.part); err != nil {
		return err
	}
	for n := range f.steps {
		a.progress.before = fmt.Sprintf("level %d of %d, ", n+1, f.steps)
		err := a.levelLive(w, l, tones, f.step(n))
		a.progress.before = ""
		if err != nil {
			return fmt.Errorf("%w; %d of %d levels were read", err, n, f.steps)
		}
	}
	return nil
}

// levelLive reads the part at one level.
func (a *app) levelLive(w *work, l *report.LevelStudy, tones []stimulus.ToneRequest, db float64) error {
	w.SetPeak(math.Pow(10, db/20))
	plan, err := w.Plan(a.ctx, tones)
	if err != nil {
		return err
	}
	t, err := w.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: l.Part}, plan)
	if err != nil {
		return err
	}
	if t.Driver != nil {
		l.AddFindings([]finding.Finding{*t.Driver})
	}
	return a.addLevel(l, t.Observation, live.Frequencies(plan)[0])
}

// levelsOfRecordings reads each recording by itself.
func (a *app) levelsOfRecordings(f levelFlags, l *report.LevelStudy) error {
	part := connection{role: fixture.PartRole, sources: a.tapes(f.recordings, l.Jig)}
	var calibrated []float64
	if l.Cal != nil {
		calibrated = l.Cal.Frequencies()
	}
	freqs, err := tones(f.at, part.sources, l.Jig.MainsHz, calibrated)
	if err != nil {
		return err
	}
	h, err := part.hear(freqs, l.Jig.MainsHz)
	if err != nil {
		return err
	}
	for _, o := range h.observations {
		if err := a.addLevel(l, o, freqs[0]); err != nil {
			return err
		}
	}
	return nil
}

// addLevel makes the reading of one recording and a point of the study of it.
func (a *app) addLevel(l *report.LevelStudy, o fixture.Observation, freqHz float64) error {
	l.Files = append(l.Files, o.File)
	r, err := a.reading(&l.Measurement, &heard{observations: []fixture.Observation{o}}, freqHz)
	if err != nil {
		return err
	}
	l.Readings = append(l.Readings, r)
	p := report.LevelPoint{Reading: r}
	if r.Trusted && r.Corrected.Reading.State == impedance.OK {
		z := complex(r.Corrected.Reading.Re.Value, r.Corrected.Reading.Im.Value)
		if p.Harmonics, err = fixture.PartHarmonics(l.Jig, l.Cal, r.Observations, freqHz, z); err != nil {
			return err
		}
	}
	point, err := lvl.NewPoint(r.Corrected, p.Harmonics)
	if err == nil {
		p.Point = &point
	}
	p.Refused = err
	l.Points = append(l.Points, p)
	return nil
}

// concludeLevels studies the points and shows what came out.
func (a *app) concludeLevels(f levelFlags, l *report.LevelStudy) error {
	var points []lvl.Point
	for _, p := range l.Points {
		l.AddFindings(p.Reading.Findings)
		if p.Point != nil {
			points = append(points, *p.Point)
		}
	}
	var err error
	if l.Study, err = lvl.Of(points); err != nil {
		a.status.join(Untrusted)
		a.say("wheatear: %s.", plain(err))
	}
	doc := l.Document()
	defer a.enter(entered{label: f.part, jig: f.jig, calibration: f.calibration, cal: l.Cal, files: l.Files},
		func(w io.Writer) error { return result.Write(w, doc) })
	told := tell.Levels(doc)
	if err := a.show(doc, told, f.json, false); err != nil {
		return err
	}
	if err := a.writeReport(f.paper, told); err != nil || f.plot == "" || l.Study == nil {
		return err
	}
	return a.draw(f.plot, block.ChartOf(told).Draw)
}
