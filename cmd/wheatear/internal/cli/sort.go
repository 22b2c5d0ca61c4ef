package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	lvl "example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/parts"
)

// sortFlags is what the command sort can be told.
type sortFlags struct {
	jig         string
	calibration string
	at          frequencies
	expect      expected
	bins        string
	csv         string
	within      quantity
	recordings  []string
	parts       []string
	count       int
	live        liveFlags
	plot        string
	json        bool
}

func newSort(a *app) *cobra.Command {
	f := sortFlags{within: quantity{3, parts.Second, "S"}, csv: "sorted.csv"}
	cmd := &cobra.Command{
		Use:   "sort --jig FILE --expect PART",
		Short: "Judge and bin a run of parts, one after the other",
		Long: `Sort judges parts of one kind: put one in, and it notices, waits until the reading
has settled, records until the decision is safe (95 %) or --within is over, says
the verdict in large letters and the bin, and waits for the next. Ctrl-C ends the
run.

--expect names the part with its tolerance, such as 100nJ or 4k7/1%. --bins E24
puts each part to the nearest value of a series, --bins 1%,5%,10% to the narrowest
tolerance that holds it, --bins 90n..100n,100n..110n to a range.

Every part is written to --csv, and is on the disk before the next is asked for.
The same command goes on with the run that the file holds: a part of a name that
is there already is not read again.

The simulated jig takes the parts of --part, which may be repeated; --recording
stands for a part each.

At the end: how many passed, how the parts spread with the measurement's share of
the spread taken out, and outliers. Exit status 4 if any part did not pass.

JSON: {"schema": "wheatear.sort/1", "jig", "calibration", "expected", "file",
"parts": [{"number", "name", "value", "u", "low", "high", "unit", "verdict",
"risk", "bin", "bin_chance"}], "passed", "failed", "undecided", "mean", "spread",
"spread_u", "spread_measured", "measurement_share", "outliers": [numbers]}.`,
		Example: `  wheatear sort --jig bench.toml --calibration live.json --at 1k --expect 100nJ \
      --bins 1%,2%,5% --csv lot7.csv`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.sort(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.jig, "jig", "", "jig `FILE`")
	flags.StringVar(&f.calibration, "calibration", "", "calibration `FILE` as calibrate writes it")
	flags.Var(&f.at, "at", "one frequency: 1k  ~1k")
	flags.Var(&f.expect, "expect", "the part with its tolerance: a marking or a value")
	flags.StringVar(&f.bins, "bins", "", "`BINS`: E24  1%,5%,10%  90n..100n,100n..110n")
	flags.StringVar(&f.csv, "csv", f.csv, "write the parts to `FILE`, and go on with what it holds")
	flags.Var(&f.within, "within", "live: record a part for this long at the most")
	flags.IntVar(&f.count, "count", 0, "live: end after this `NUMBER` of parts")
	flags.StringArrayVar(&f.parts, "part", nil, "simulated: `NAME` of a part; may be repeated")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of a part; may be repeated")
	f.live.add(flags)
	flags.StringVar(&f.plot, "plot", "", "draw the histogram into `FILE`, .svg, .png, .pdf")
	flags.BoolVar(&f.json, "json", false, "print the run as JSON at its end")
	return cmd
}

// sorting is a run under way.
type sorting struct {
	app  *app
	f    sortFlags
	m    report.Measurement
	bins *batch.Bins
	file *run.File
	work *work
	plan *lockin.TonePlan
}

func (a *app) sort(f sortFlags) error {
	s, err := a.newSorting(f)
	if err != nil {
		return err
	}
	defer s.file.Close()
	if n := len(s.file.Parts()); n > 0 {
		a.say("%s holds %d parts; going on.", f.csv, n)
	}
	switch {
	case len(f.recordings) > 0:
		err = s.recordings()
	default:
		err = s.live()
	}
	a.progress.clear()
	if errors.Is(err, context.Canceled) && len(s.file.Parts()) > 0 {
		err = nil // that is how a run ends
	}
	if err != nil {
		a.complain(err)
	}
	if len(s.file.Parts()) == 0 {
		return nil
	}
	return s.conclude()
}

// newSorting reads everything that a run needs.
func (a *app) newSorting(f sortFlags) (*sorting, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	s := &sorting{app: a, f: f}
	jig, err := readJig(f.jig)
	if err != nil {
		return nil, err
	}
	cal, err := readCalibration(f.calibration)
	if err != nil {
		return nil, err
	}
	s.m = report.Measurement{Jig: jig, Calibration: f.calibration, Cal: cal, Expected: f.expect.readings}
	if f.bins != "" {
		m := parts.Likeliest(f.expect.readings, f.expect.text)
		if s.bins, err = batch.ParseBins(f.bins, m.Value, m.Unit); err != nil {
			return nil, usagef("--bins: %s", plain(err))
		}
	}
	s.file, err = run.Open(f.csv)
	return s, err
}

// check refuses what makes no sense together.
func (f *sortFlags) check() error {
	if f.plot != "" {
		if _, err := plot.FormatOf(f.plot); err != nil {
			return &statusError{Usage, err}
		}
	}
	switch {
	case len(f.expect.readings) == 0:
		return usagef("which parts? Add --expect with its tolerance, such as --expect 100nJ")
	case len(f.at.requests) != 1 || f.at.all():
		return usagef("at which frequency? Sort reads at one: --at 1k")
	case len(f.recordings) > 0 && (len(f.parts) > 0 || f.live.given() || f.count > 0):
		return usagef("--part, --count, --keep and --level are for playing and recording; leave them or --recording out")
	}
	return nil
}

// recordings judges a part for each.
func (s *sorting) recordings() error {
	a := s.app
	sources := a.tapes(s.f.recordings, s.m.Jig)
	var calibrated []float64
	if s.m.Cal != nil {
		calibrated = s.m.Cal.Frequencies()
	}
	for _, t := range sources {
		if s.file.Has(t.name()) {
			continue
		}
		one := connection{role: fixture.PartRole, sources: []source{t}}
		freqs, err := tones(s.f.at, one.sources, s.m.Jig.MainsHz, calibrated)
		if err != nil {
			return err
		}
		h, err := one.hear(freqs, s.m.Jig.MainsHz)
		if err != nil {
			return err
		}
		r, err := a.reading(&s.m, h, freqs[0])
		if err != nil {
			return err
		}
		if err := s.add(t.name(), r); err != nil {
			return err
		}
	}
	return nil
}

// live judges parts as they come.
func (s *sorting) live() error {
	a := s.app
	tones, err := liveTones(s.f.at, s.m.Cal)
	if err != nil {
		return err
	}
	s.work, err = a.openSession(s.f.jig, s.m.Jig, s.f.live, fmt.Sprintf("sort from %d", len(s.file.Parts())))
	if err != nil {
		return err
	}
	defer a.closeSession(s.work)
	defer a.tellKept(s.work, nil)
	s.work.SetReading(a.readingOptions(s.m.Cal))
	if s.work.Simulated() {
		return s.simulated(tones)
	}
	if s.plan, err = s.work.Plan(a.ctx, tones); err != nil {
		return err
	}
	return s.watch()
}

// simulated puts the parts in by name.
func (s *sorting) simulated(tones []lockin.ToneRequest) (err error) {
	if len(s.f.parts) == 0 {
		return usagef("which parts are to be put into the simulated jig? Add --part NAME, repeated")
	}
	for _, name := range s.f.parts {
		if s.file.Has(name) {
			continue
		}
		if err := s.work.Put(name); err != nil {
			return err
		}
		if s.plan == nil {
			if s.plan, err = s.work.Plan(s.app.ctx, tones); err != nil {
				return err
			}
		}
		if err := s.judge(name); err != nil {
			return err
		}
	}
	return nil
}

// watch waits for parts, judges each, and waits until it is out again.
func (s *sorting) watch() error {
	a := s.app
	var here batch.Presence
	a.say("Put the first part in. Ctrl-C ends the run.")
	for s.f.count == 0 || len(s.file.Parts()) < s.f.count {
		t, err := s.work.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: "glimpse"}, s.plan)
		if err != nil {
			return err
		}
		g, err := s.glimpse(t)
		if err != nil {
			return err
		}
		switch here.Step(g) {
		case batch.Settled:
			if err := s.judge(fmt.Sprintf("part %d", len(s.file.Parts())+1)); err != nil {
				return err
			}
			a.say("Take it out, and put the next one in.")
		case batch.Entering:
			a.progress.show("a part is in; waiting until it has settled")
		case batch.Nothing:
			a.progress.show("no part is in")
		}
	}
	return nil
}

// glimpse is a quick look at what is in.
func (s *sorting) glimpse(t *live.Take) (batch.Glimpse, error) {
	c, err := fixture.Measure(s.m.Jig, s.m.Cal, []fixture.Observation{t.Observation}, live.Frequencies(s.plan)[0], s.app.readingOptions(s.m.Cal))
	if err != nil {
		return batch.Glimpse{}, err
	}
	g := batch.Glimpse{Open: c.Reading.State == impedance.Open || c.Reading.State == impedance.NoSignal, Bad: !c.Trusted,
		Ohm: c.Reading.Modulus.Value, U: c.Reading.Modulus.U}
	if p, err := lvl.NewPoint(c, nil); err == nil {
		g.U = math.Hypot(p.NoiseU[0], p.NoiseU[1])
	}
	return g, nil
}

// judge records the part that is in until the decision is safe or the time is over.
func (s *sorting) judge(name string) error {
	a := s.app
	subject := live.Subject{Role: fixture.PartRole, Name: name}
	var obs []fixture.Observation
	began := s.work.Seconds()
	for {
		a.progress.before = name + ", "
		t, err := s.work.Take(a.ctx, subject, s.plan)
		a.progress.before = ""
		if err != nil {
			return err
		}
		obs = append(obs, t.Observation)
		r, err := a.reading(&s.m, &heard{observations: obs}, live.Frequencies(s.plan)[0])
		if err != nil {
			return err
		}
		decided := r.Judgement != nil && r.Judgement.Outcome != parts.Undecided
		if decided || s.work.Seconds()-began >= s.f.within.value {
			return s.add(name, r)
		}
	}
}

// add keeps a part and shows its verdict.
func (s *sorting) add(name string, r *report.Reading) error {
	p := run.Part{Number: len(s.file.Parts()) + 1, Name: name, At: s.app.now(), FreqHz: r.NominalHz, Verdict: string(parts.Undecided),
		Value: math.NaN(), U: math.NaN(), OwnU: math.NaN(), Low: math.NaN(), High: math.NaN(), Risk: math.NaN(), Chance: math.NaN()}
	if j := r.Judgement; j != nil {
		p.Unit = map[parts.Unit]string{parts.Ohm: "Ω", parts.Farad: "F", parts.Henry: "H"}[j.Expected.Unit]
		p.Value, p.U, p.Verdict, p.Risk = j.Value, j.U, string(j.Outcome), j.Risk
		p.Low, p.High = p.Value-1.96*p.U, p.Value+1.96*p.U
		p.OwnU = s.ownU(r, j)
		if s.bins != nil {
			p.Bin, p.Chance = s.bins.Of(p.Value, p.U)
		}
	}
	if err := s.file.Add(p); err != nil {
		return fmt.Errorf("part %d was read, but could not be written: %w", p.Number, err)
	}
	s.app.progress.clear()
	report.SortLine(s.app.talk, p, s.m.Expected)
	s.m.AddFindings(r.Findings)
	return nil
}

// ownU is what a part does not share with the others: noise, drift and contact, but
// not the tolerance of the load.
func (s *sorting) ownU(r *report.Reading, j *fixture.Judgement) float64 {
	p, err := lvl.NewPoint(r.Corrected, nil)
	if err != nil {
		return j.U
	}
	z := math.Hypot(r.Corrected.Reading.Re.Value, r.Corrected.Reading.Im.Value)
	own := math.Hypot(math.Hypot(p.NoiseU[0], p.NoiseU[1])/math.Sqrt2, s.m.Jig.ContactOhm)
	w := 2 * math.Pi * r.NominalHz
	own = math.Hypot(own, s.m.Jig.StrayFarad*w*z*z)
	return math.Abs(j.Value) * own / z
}

// conclude says how the run went.
func (s *sorting) conclude() error {
	a, f := s.app, s.f
	sorted := report.NewSorted(&s.m, f.expect.text, f.csv, s.file.Parts())
	if sorted.Passed < len(sorted.Parts) {
		a.status.join(OtherVerdict)
	}
	show := report.WriteSorted
	if f.json {
		show = report.SortedJSON
	}
	defer a.enter(result{label: f.expect.text, jig: f.jig, calibration: f.calibration, cal: s.m.Cal, files: f.recordings}, func(w io.Writer) error { return report.SortedJSON(w, sorted) })
	if err := show(a.out, sorted); err != nil {
		return err
	}
	return a.draw(f.plot, func(w io.Writer, format plot.Format) error { return plot.DrawChart(w, sorted.Chart(), format) })
}
