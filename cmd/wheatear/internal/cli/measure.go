package cli

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

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
	"example.org/wheatear/lockin/uncertain"
)

// measureFlags is what the command measure can be told.
type measureFlags struct {
	jig         string
	calibration string
	at          frequencies
	recordings  []string
	plot        string
	paper       string
	budget      bool
	explain     bool
	json        bool
	expect      expected

	bench  bool           // jig and calibration are those that the bench remembers
	chosen *result.Chosen // how the frequency was chosen where --at was left out

	part   string
	to     share
	within stretch
	watch  bool
	every  stretch
	csv    string
	live   liveFlags
	entry  entered
}

func newMeasure(a *app) *cobra.Command {
	var f measureFlags
	cmd := &cobra.Command{
		Use:   "measure",
		Short: "Read the impedance of a part, live or from recordings",
		Long: `Measure reads the impedance of a part, and what follows from it: R, C, L, Q, D,
each with its uncertainty. Without a calibration the uncertainty covers what is
not known of reference, inputs and leads.

Without --at the frequency that suits the part is chosen, by standards and the
trade, after --expect or a short look at the part with several tones; it says
which and why. Of recordings all tones are read then.

Without recordings it plays and records through the card of the jig file; a
spoilt record is made once more, up to three times. --to averages records until
|Z| is known that well (half of the 95 % interval), at the most for --within,
which is 30 s of recording by default; --within alone uses all of that time. The
simulated jig is told with --part what to put in. --keep keeps every recording,
and the same figures can be read from them later.

--watch keeps reading and shows one steady line, until ctrl-C or --within; with
--json one document per line. The notebook gets the last reading, and with
--label every one. The exit status is 3 if any reading was not to be trusted.

--watch --every 10s makes a reading at such intervals, for minutes or days: each
is in the notebook at once, so that a crash loses at most one. At the end
(ctrl-C, or --within 2h) the drift is told with its 95 % interval, which allows
for slow waves, as of a room that warms and cools, if one lasts no longer than
the readings. --csv writes the readings, --plot draws them; with --json the last
line is {"schema": "wheatear.watch/1", "points", "drift", "changes", ...}.

--recording may be repeated: several files with the same tone are repeats,
several with different tones a stepped series. --recording - reads standard
input. --at all takes the tones found in the recordings.

What a finding calls invalid is not to be trusted: such a reading has no
figures, but the reason and what to do, and the exit status is 3.

--expect judges each reading by a part and its tolerance, such as 100nJ or
4.7k/1%: pass or fail where the probability is 95 % or more, else undecided,
with the risk in figures. A verdict other than pass gives exit status 4.

--budget tells what the uncertainty is made of, --explain the whole way from the
recording to the reading.

JSON: {"schema": "wheatear.measure/1", "jig", "calibration", "readings": [...],
"findings": [...]}, in SI units; every quantity is {"value", "u", "low", "high"}
with its standard uncertainty and 95 % interval, null where there is none. With
--budget each reading also has "budget": {"re_ohm": [{"source", "u", "share"}],
"im_ohm": [...]}; with --expect "verdict": {"outcome", "expected", "quantity",
"circuit", "limit_low", "limit_high", "conformance_probability", "risk",
"acceptance_low", "acceptance_high", "capability_index", "u_to_decide"}.`,
		Example: `  wheatear measure --jig bench.toml --calibration live.json --at 1k \
      --part c100n --to 0.1%
  wheatear measure --jig jig.toml --calibration cal.json --at 1k \
      --recording part.wav`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.measure(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	addJig(flags, &f.jig, &f.calibration)
	flags.Var(&f.at, "at", "frequencies: 1k  100,1k,10k  ~1k  20..20k/31  all (default one that suits the part)")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of the part; may be repeated")
	flags.StringVar(&f.part, "part", "", "live: `NAME` of the part, for the names of recordings; the simulated jig puts it in")
	flags.Var(&f.to, "to", "live: wanted uncertainty, such as 0.1%")
	flags.Var(&f.within, "within", "live: for this long at the most, such as 3s or 2h (default one record, or 30 s with --to)")
	flags.BoolVar(&f.watch, "watch", false, "live: keep reading, one steady line")
	flags.Var(&f.every, "every", "with --watch: from one reading to the next, such as 10s or 5min")
	flags.StringVar(&f.csv, "csv", "", "with --every: write the readings as CSV to `FILE`")
	f.live.add(flags)
	a.addAs(flags)
	a.addAround(flags)
	flags.Var(&f.expect, "expect", "judge by this part: a marking or value with tolerance")
	flags.StringVar(&f.plot, "plot", "", "draw the phasor of one reading, or with --every all over time, into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.paper, "report", "", "write a report with all that the readings rest on to `FILE`, .html")
	flags.BoolVar(&f.budget, "budget", false, "tell what the uncertainty is made of")
	flags.BoolVar(&f.explain, "explain", false, "tell how the reading came about")
	f.entry.describe(flags)
	flags.BoolVar(&f.json, "json", false, "print the readings as JSON")
	return cmd
}

func (a *app) measure(f measureFlags) error {
	if len(f.recordings) > 0 && len(f.at.requests) == 0 {
		f.at = asked("all")
	}
	if f.plot != "" {
		if _, err := plot.FormatOf(f.plot); err != nil {
			return &statusError{Usage, err}
		}
	}
	if (f.plot != "" || f.paper != "") && f.watch && f.every.seconds == 0 {
		return usagef("--plot and --report are for one reading, or for --watch with --every")
	}
	if f.explain && f.json {
		return usagef("--explain is for people and --json for programs; leave one out")
	}
	if err := f.checkLive(); err != nil {
		return err
	}
	f.bench = f.jig == "" && f.calibration == ""
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
	if len(f.recordings) == 0 {
		return a.measureLive(f, jig, cal)
	}
	part := connection{role: fixture.PartRole, sources: a.tapes(f.recordings, jig)}
	m := &report.Measurement{Jig: jig, As: a.as, Calibration: f.calibration, Cal: cal, Files: part.names(), Budget: f.budget, Explain: f.explain, Report: f.paper != "", Expected: f.expect.readings}
	if err := a.readPart(m, part, f.at); err != nil {
		return err
	}
	return a.concludeMeasurement(m, f)
}

// checkLive refuses flags that make no sense together.
func (f *measureFlags) checkLive() error {
	isLive := f.live.given() || f.part != "" || f.to.value != 0 || f.within.seconds != 0 || f.watch
	switch {
	case (f.every.seconds != 0 || f.csv != "") && !f.watch:
		return usagef("--every and --csv are for --watch")
	case f.csv != "" && f.every.seconds == 0:
		return usagef("--csv is for --watch with --every, such as --every 10s")
	case isLive && len(f.recordings) > 0:
		return usagef("--part, --to, --within, --watch, --keep and --level are for playing and recording; leave them or --recording out")
	case f.watch && (f.to.value != 0 || f.budget || f.explain):
		return usagef("--watch shows one line of each record; leave --to, --budget and --explain out")
	}
	return nil
}

func (c connection) names() []string {
	var out []string
	for _, t := range c.sources {
		out = append(out, t.name())
	}
	return out
}

// readPart makes all readings. What of several recordings cannot be used is told
// and leaves the rest.
func (a *app) readPart(m *report.Measurement, part connection, at frequencies) error {
	var calibrated []float64
	if m.Cal != nil {
		calibrated = m.Cal.Frequencies()
	}
	freqs, err := tones(at, part.sources, m.Jig.MainsHz, calibrated)
	if err != nil {
		return err
	}
	h, err := part.hear(freqs, m.Jig.MainsHz)
	if err != nil {
		return err
	}
	if len(freqs) == 0 {
		return a.noTones(m, h)
	}
	for _, freqHz := range freqs {
		if slices.Contains(h.missing, freqHz) {
			continue
		}
		r, err := a.reading(m, h, freqHz)
		if err != nil {
			return err
		}
		m.Readings = append(m.Readings, r)
	}
	if len(h.missing) > 0 {
		a.complain(part.missed(h.missing))
	}
	if idle := h.idle(); len(idle) > 0 && len(part.sources) > 1 && len(h.missing) == 0 {
		a.complain(usedNothing(idle))
	}
	return nil
}

// noTones is for --at all where the recordings hold none.
func (a *app) noTones(m *report.Measurement, h *heard) error {
	for _, o := range h.observations {
		for _, f := range o.Analysis.Findings {
			f.File = o.File
			m.Findings = append(m.Findings, f)
		}
	}
	a.status.join(Untrusted)
	return nil
}

// reading is the part at one frequency.
func (a *app) reading(m *report.Measurement, h *heard, freqHz float64) (*report.Reading, error) {
	r := &report.Reading{Observations: h.with(freqHz)}
	if len(r.Observations) == 0 {
		r.Corrected = unheard(freqHz, h.silent)
		return r, a.judge(m, r)
	}
	corrected, err := live.Measure(m.Jig, m.Cal, r.Observations, freqHz, a.readingOptions(m.Cal))
	if err != nil {
		return nil, err
	}
	r.Corrected = corrected
	if corrected.Trusted && (m.Budget || m.Explain || m.Report) {
		r.Result, err = corrected.Propagate()
	}
	if err != nil {
		return nil, err
	}
	return r, a.judge(m, r)
}

// readingOptions is what a reading needs to know beside jig and calibration.
func (a *app) readingOptions(cal *fixture.Calibration) fixture.Options {
	a.tellAround()
	opt := fixture.Options{Card: a.card, Parallel: a.parallel, Series: a.inSeries}
	if cal != nil && !cal.About.Date.IsZero() {
		opt.Age = a.now().Sub(cal.About.Date)
	}
	return opt
}

// with returns the observations that hold a tone.
func (h *heard) with(freqHz float64) []fixture.Observation {
	var out []fixture.Observation
	for _, o := range h.observations {
		if t := o.Analysis.Tone(freqHz); t != nil && t.NominalHz == freqHz {
			out = append(out, o)
		}
	}
	return out
}

// unheard is the reading of a tone that the only recording does not have.
func unheard(freqHz float64, silent []finding.Finding) *fixture.Corrected {
	c := &fixture.Corrected{NominalHz: freqHz, Reading: impedance.Void(uncertain.Absent()), Level: fixture.PartLevel{VoltRMS: math.NaN(), AmpereRMS: math.NaN()}}
	for _, f := range silent {
		if f.Touches(freqHz) {
			c.Findings = append(c.Findings, f)
		}
	}
	return c
}

func usedNothing(files []string) error {
	return &statusError{Failed, idleError(files)}
}

// idleError names recordings that add nothing.
type idleError []string

func (e idleError) Error() string {
	return strings.Join(e, ", ") + ": none of the tones asked for is in it; it was left out"
}

// concludeMeasurement prints the readings.
func (a *app) concludeMeasurement(m *report.Measurement, f measureFlags) error {
	for _, r := range m.Readings {
		if !r.Trusted {
			a.status.join(Untrusted)
		}
		m.AddFindings(r.Findings)
	}
	doc := m.Document()
	told := tell.Measurement(doc)
	if err := a.show(doc, told, f.json, f.explain); err != nil {
		return err
	}
	a.enterMeasurement(f, m)
	if err := a.writeReport(f.paper, told); err != nil || f.plot == "" {
		return err
	}
	if len(m.Readings) != 1 {
		return fmt.Errorf("%s was not drawn: it shows one reading, and there are %d; sweep draws several", f.plot, len(m.Readings))
	}
	return a.draw(f.plot, block.ChartOf(told).Draw)
}

// writePaper writes a report, if that is wanted.
func (a *app) writePaper(file string, write func(w io.Writer) error) error {
	if file == "" {
		return nil
	}
	if err := writeFile(file, write); err != nil {
		return fmt.Errorf("%s was not written: %w", file, err)
	}
	return nil
}
