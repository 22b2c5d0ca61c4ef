package cli

import (
	"errors"
	"fmt"
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
	"example.org/wheatear/lockin/incircuit"
	lvl "example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/uncertain"
)

// incircuitFlags is what the command incircuit can be told.
type incircuitFlags struct {
	jig          string
	calibration  string
	at           string
	expect       string
	rated        quantity
	surroundings string
	highest      level
	recordings   []string
	part         string
	keep         string
	plot, paper  string
	json         bool

	frequencies frequencies
	question    incircuit.Question
	marking     parts.Marking
}

func newIncircuit(a *app) *cobra.Command {
	f := incircuitFlags{highest: level{-12}, rated: quantity{0, parts.Volt, "V"}, surroundings: "R,C,RC,RL"}
	cmd := &cobra.Command{
		Use:   "incircuit --jig FILE --expect PART",
		Short: "Tell what a part is while it is soldered in",
		Long: `Incircuit reads a part that is soldered in a board, which is switched off,
unplugged and discharged, and tells what it is among what surrounds it. First it
looks at which level junctions on the board begin to conduct, and stays below;
then it reads the spot over frequency and tries surroundings in parallel with the
part: a resistor (R), another capacitor (C), a resistor with a capacitor (RC) or
an inductor (RL) in series, and pairs of these. The answer is the interval that
all of them leave which agree with the readings, or that the part is undetermined
in circuit, and why. Value and series resistance are those of one branch; where
several branches may be the part, the answer names them and spans them.

--expect names the part: its kind, and the nominal value, which decides between
branches that are alike from outside. A known part of the surroundings is
subtracted with --parallel and --series. With --rated an electrolytic is judged by
the usual limits of capacitance and ESR.

--recording reads the spot from recordings instead, at one level.

JSON: {"schema": "wheatear.incircuit/1", "jig", "calibration", "part", "kind",
"told", "unit", "value", "series_ohm", "branches": [{"circuit", "value",
"series_ohm"}], "against_nominal", "why", "assumed", "best_hz", "share", "conducts_from",
"models": [{"around", "circuit", "value", "chance", "weight"}], "misleading":
[{"frequency_hz", "value", "off"}], "health": [{"what", "value", "u", "outcome",
"basis"}], "readings": [...], "findings": [...]}; readings are those of measure
--json.`,
		Example: `  wheatear incircuit --jig bench.toml --calibration live.json --expect 100u \
      --rated 25V
  wheatear incircuit --jig jig.toml --calibration cal.json --expect 22mH \
      --recording spot.wav --surroundings R,RC --parallel 4k7/1%`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.incircuit(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	addJig(flags, &f.jig, &f.calibration)
	flags.StringVar(&f.expect, "expect", "", "the `PART` as it should be: 100u  22mH  4k7")
	flags.Var(&f.rated, "rated", "rated voltage of an electrolytic, to judge its wear")
	flags.StringVar(&f.surroundings, "surroundings", f.surroundings, "`FAMILIES` assumed in parallel: R C RC RL")
	flags.StringVar(&f.at, "at", "", "frequencies (default all calibrated ones, or 20..20k/31)")
	a.addAround(flags)
	flags.Var(&f.highest, "highest", "live: highest level tried for junctions")
	flags.StringVar(&f.part, "part", "", "live: `NAME` of the spot, for the names of recordings; the simulated jig puts it in")
	flags.StringVar(&f.keep, "keep", "", "live: keep every recording in directory `DIR`")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of the spot; may be repeated")
	flags.StringVar(&f.plot, "plot", "", "draw readings, part and network into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.paper, "report", "", "write a report with all that it rests on to `FILE`, .html")
	flags.BoolVar(&f.json, "json", false, "print the result as JSON")
	return cmd
}

// spot is a part among its surroundings, as it was read.
type spot struct {
	report.Measurement
	levelDB *float64   // nil for recordings
	study   *lvl.Study // of the level; nil where it was not looked at
}

func (a *app) incircuit(f incircuitFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	if err := a.takeBench(&f.jig, &f.calibration, asked(f.at), f.recordings); err != nil {
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
	if err := f.readAt(cal); err != nil {
		return err
	}
	s := &spot{Measurement: report.Measurement{Jig: jig, Calibration: f.calibration, Cal: cal}}
	if len(f.recordings) > 0 {
		part := connection{role: fixture.PartRole, sources: a.tapes(f.recordings, jig)}
		s.Files = part.names()
		err = a.readPart(&s.Measurement, part, f.frequencies)
	} else {
		err = a.spotLive(f, s)
	}
	a.progress.clear()
	if err != nil {
		return err
	}
	return a.concludeSpot(f, s)
}

// check refuses what makes no sense together, and reads what is asked.
func (f *incircuitFlags) check() error {
	if f.plot != "" {
		if _, err := plot.FormatOf(f.plot); err != nil {
			return &statusError{Usage, err}
		}
	}
	if f.expect == "" {
		return usagef("what should the part be? Add --expect, such as --expect 100u")
	}
	var err error
	if f.marking, err = parts.Expect(f.expect, parts.None); err != nil {
		return usagef("--expect: %s", plain(err))
	}
	f.question.Nominal = f.marking.Value
	f.question.Kind = impedance.ElementIn(f.marking.Unit.String()).Kind
	if f.question.Families, err = incircuit.ParseFamilies(f.surroundings); err != nil {
		return usagef("--surroundings: %s", plain(err))
	}
	switch {
	case len(f.recordings) > 0 && (f.part != "" || f.keep != ""):
		return usagef("--part and --keep are for playing and recording; leave them or --recording out")
	case f.rated.value > 0 && f.question.Kind != impedance.Capacitor:
		return usagef("--rated judges electrolytic capacitors, and %s is none", f.expect)
	}
	return nil
}

// readAt settles the frequencies.
func (f *incircuitFlags) readAt(cal *fixture.Calibration) error {
	text := f.at
	switch {
	case text == "" && (cal != nil || len(f.recordings) > 0):
		text = "all"
	case text == "":
		text = "20..20k/31"
	}
	if err := f.frequencies.Set(text); err != nil {
		return usagef("--at: %s", plain(err))
	}
	return nil
}

// spotLive settles the level and reads the spot over frequency.
func (a *app) spotLive(f incircuitFlags, s *spot) error {
	tones, err := sweepTones(f.frequencies, s.Cal)
	if err != nil {
		return err
	}
	w, err := a.openSession(f.jig, s.Jig, liveFlags{keep: f.keep, level: playLevel{&fixture.Level{Value: quietDB}}}, "incircuit "+f.part)
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	defer a.tellKept(w, nil)
	w.SetReading(a.readingOptions(s.Cal))
	if err := putPart(w, f.part); err != nil {
		return err
	}
	db, err := a.belowJunctions(f, w, s, tones)
	if err != nil {
		return err
	}
	s.levelDB = &db
	w.SetPeak(math.Pow(10, db/20))
	plan, err := w.Plan(a.ctx, tones)
	if err != nil {
		return err
	}
	t, err := w.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: f.part}, plan)
	if err != nil {
		return err
	}
	m, err := a.liveReadings(measureFlags{calibration: f.calibration}, s.Jig, s.Cal, []fixture.Observation{t.Observation}, live.Frequencies(plan))
	if err != nil {
		return err
	}
	if t.Driver != nil {
		m.AddFindings([]finding.Finding{*t.Driver})
	}
	s.Measurement = *m
	return nil
}

// Levels at which junctions are looked for.
const (
	quietDB  = -60.0
	stepDB   = 8.0
	marginDB = 6.0 // below the level at which something was seen
)

// belowJunctions finds the highest level at which nothing depends on level yet.
func (a *app) belowJunctions(f incircuitFlags, w *work, s *spot, tones []stimulus.ToneRequest) (float64, error) {
	one := lowTone(tones)
	var points []lvl.Point
	last := quietDB
	for db := quietDB; db <= f.highest.db+1e-9; db += stepDB {
		a.progress.before = "looking for junctions, "
		w.SetPeak(math.Pow(10, db/20))
		plan, err := w.Plan(a.ctx, []stimulus.ToneRequest{one})
		if err != nil {
			return 0, err
		}
		t, err := w.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: f.part}, plan)
		a.progress.before = ""
		if err != nil {
			return 0, err
		}
		p, ok, err := a.levelPoint(s, t.Observation, live.Frequencies(plan)[0])
		if err != nil {
			return 0, err
		}
		if !ok {
			continue // too little signal to tell anything at this level, or too much
		}
		points = append(points, p)
		if study, err := lvl.Of(points); err == nil && study.Onset.VoltRMS > 0 {
			s.study = study
			return math.Max(quietDB, db-stepDB-marginDB), nil
		}
		last = db
	}
	s.study, _ = lvl.Of(points)
	return last, nil
}

// lowTone is where junctions see most of the voltage: a low tone, but none below
// 100 Hz, which would take long.
func lowTone(tones []stimulus.ToneRequest) stimulus.ToneRequest {
	best := tones[0]
	for _, t := range tones {
		if math.Abs(math.Log(t.FreqHz/120)) < math.Abs(math.Log(best.FreqHz/120)) {
			best = t
		}
	}
	return best
}

// levelPoint is one reading for the study of the level.
func (a *app) levelPoint(s *spot, o fixture.Observation, freqHz float64) (lvl.Point, bool, error) {
	opt := a.readingOptions(s.Cal)
	opt.Series, opt.Parallel = nil, nil // the whole spot is meant
	c, err := live.Measure(s.Jig, s.Cal, []fixture.Observation{o}, freqHz, opt)
	if err != nil || !c.Trusted {
		return lvl.Point{}, false, err
	}
	z := complex(c.Reading.Re.Value, c.Reading.Im.Value)
	h, err := fixture.PartHarmonics(s.Jig, s.Cal, []fixture.Observation{o}, freqHz, z)
	if err != nil {
		return lvl.Point{}, false, nil
	}
	p, err := lvl.NewPoint(c, h)
	return p, err == nil, nil
}

// concludeSpot asks what the part is and shows the answer.
func (a *app) concludeSpot(f incircuitFlags, s *spot) error {
	var good []*fixture.Corrected
	for _, r := range s.Readings {
		s.AddFindings(r.Findings)
		if r.Trusted && r.Corrected.Reading.State == impedance.OK {
			good = append(good, r.Corrected)
		}
	}
	answer, err := ask(good, f.question)
	refused := ""
	if err != nil {
		refused = plain(err)
	}
	if answer == nil || !answer.Told {
		a.status.join(Untrusted)
	}
	doc := result.NewSpot(s.Document(), f.question.Kind, answer, refused)
	if f.part != "" {
		doc.Part = &f.part
	}
	if s.levelDB != nil {
		doc.ReadAt(*s.levelDB, s.study, s.Jig.FullScaleVolt != nil)
	}
	if f.rated.value > 0 && answer != nil && answer.Told {
		doc.Judged(health(answer, parts.NewElectrolytic{Farad: f.question.Nominal, RatedV: f.rated.value}, f.marking.Tolerance))
	}
	told := tell.Spot(doc)
	defer a.enterResult(entered{label: f.part, jig: f.jig, calibration: f.calibration, cal: s.Cal, files: s.Files}, doc)
	if err := a.show(doc, told, f.json, false); err != nil {
		return err
	}
	if err := a.writeReport(f.paper, told); err != nil || f.plot == "" {
		return err
	}
	if doc.Curve == nil {
		return fmt.Errorf("%s was not drawn: there is no network to draw", f.plot)
	}
	return a.draw(f.plot, block.ChartOf(told).Draw)
}

// ask finds the answer from the readings that can be trusted.
func ask(good []*fixture.Corrected, q incircuit.Question) (*incircuit.Answer, error) {
	if len(good) < 3 {
		return nil, errors.New("fewer than three readings can be trusted, and one frequency alone cannot tell a part from its surroundings")
	}
	sweep := &incircuit.Sweep{}
	for _, c := range good {
		sweep.FreqHz = append(sweep.FreqHz, c.Reading.FreqHz.Value)
		sweep.Ohm = append(sweep.Ohm, complex(c.Reading.Re.Value, c.Reading.Im.Value))
	}
	var err error
	if sweep.Cov, err = fixture.SweepCovariance(good); err != nil {
		return nil, err
	}
	return incircuit.Ask(sweep, q)
}

// health holds the branch that an answer is about, never the whole spot, against the
// usual limits of electrolytics.
func health(a *incircuit.Answer, e parts.NewElectrolytic, t parts.Tolerance) []parts.Sign {
	middle := func(q uncertain.Quantity) (v, u float64) { return (q.Low + q.High) / 2, (q.High - q.Low) / 2 / 1.96 }
	farad, u := middle(a.Value)
	list := []parts.Sign{e.Capacitance(farad, u, t.Minus)}
	if ohm, u := middle(a.Series); !math.IsInf(u, 0) && !math.IsNaN(u) {
		list = append(list, e.Resistance(ohm, u))
	}
	return list
}
