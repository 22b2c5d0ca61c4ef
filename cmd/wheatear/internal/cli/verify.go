package cli

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/predict"
)

// verifyFlags is what the command verify can be told.
type verifyFlags struct {
	jig        string
	at         frequencies
	loads      loads
	reference  string
	check      []string
	insertions int
	minutes    float64
	longS      float64
	skip       []string
	recordings []string
	keep       string
	level      playLevel
	out        string
	lookOnly   bool
	paper      string
	fullScale  bool
	volts      string
	json       bool
}

func newVerify(a *app) *cobra.Command {
	f := verifyFlags{insertions: 5, minutes: 2, longS: 10}
	cmd := &cobra.Command{
		Use:   "verify --jig FILE",
		Short: "Find out whether jig and card tell the truth",
		Long: `Verify goes through twelve steps (wheatear verify --help lists them below) and
tells what jig and card do: noise and hum, gain and delay between the inputs,
crosstalk, what the reference really is and what loads it, automatic gain,
harmonics, clocks, lost samples, what open and short leave, how well contacts
repeat, how the ratio drifts, and whether a known part reads as what it is. What
is not as it should be is named with its size and with what to change.

Steps:
  idle          the load in, nothing played: noise, hum
  levels        the load in, one tone from quiet to loud: automatic gain,
                linearity, harmonics, clipping
  long          the load in, one longer run: clocks, lost samples, latency
  drift         the load in, untouched, again and again: drift
  load          resistors of known value: reference, loading, source
  open, short   each several times, put in anew: what is left, repeatability
  check         a known part that calibrates nothing: |En|
  terminated-1, terminated-2
                one input off the jig, its plug closed: crosstalk
  joined        both inputs on the driven node: gain and delay between them
  reference     another resistor of known value in the reference's place

A simulated jig goes through all by itself. A step that is left out (--skip, or
s when asked) leaves open what it would have told, which is said. Instead of
playing, recordings can be given: --recording STEP=FILE, with the resistor as
STEP:VALUE/TOLERANCE and for levels the level played as levels@-12dBFS.

Contact, stray and drift as measured are written beside the jig file, to
NAME.verified.json, with the verifications before. Later commands take them in
the place of defaults; what the jig file itself states goes first.

--full-scale asks for the volts that a meter reads across total or part, and
writes full_scale into the jig file.

Exit status 4 where a fault was found.

JSON: {"schema": "wheatear.verify/1", "jig", "card", "date", "verdict": "pass"
or "fail", "file", "faults": [{"code", "severity", "channel", "frequency_hz",
"value", "u", "low", "high", "unit", "limit", "detail", "advice"}], "figures":
[{"topic", "name", "channel", "frequency_hz", "played_dbfs", "value", "u", "low", "high",
"unit", "readings"}], "steps": [{"step", "recordings", "usable", "tells"}],
"allan": [{"tau_s", "deviation", "low", "high"}], "notes": [...], "findings":
[...]}. low and high are the 95 % interval. With --full-scale: {"schema":
"wheatear.fullscale/1", "jig", "file", "full_scale_v": [V, V], "level":
{"part_v_rms", "part_a_rms"}}.`,
		Example: `  wheatear verify --jig bench.toml --load 1k/0.1% --load 100/0.1% \
      --check 2k2/0.1% --reference 10k/0.1%
  wheatear verify --jig bench.toml --at 1k --recording joined=both.wav \
      --recording load:1k/0.1%=load.wav`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.verify(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.jig, "jig", "", "jig `FILE` (default that of the current bench)")
	flags.Var(&f.at, "at", "frequencies of the steps with several tones (default some from 100 Hz up)")
	flags.Var(&f.loads, "load", "value and tolerance of a known resistor, such as 1k/0.1%; may be repeated, two are best")
	flags.StringArrayVar(&f.check, "check", nil, "`VALUE`/TOLERANCE of a resistor that is read as a part; may be repeated")
	flags.StringVar(&f.reference, "reference", "", "`VALUE`/TOLERANCE of another resistor for the reference's place, best ten times as large")
	flags.IntVar(&f.insertions, "insertions", f.insertions, "how `OFTEN` open and short are put in")
	flags.Float64Var(&f.minutes, "minutes", f.minutes, "how `LONG` drift is looked at; the simulated jig takes 16 recordings")
	flags.Float64Var(&f.longS, "seconds", f.longS, "length of the longer run")
	flags.StringSliceVar(&f.skip, "skip", nil, "`STEPS` to leave out, with commas")
	flags.StringArrayVar(&f.recordings, "recording", nil, "`STEP=FILE`: a recording instead of playing; may be repeated")
	flags.StringVar(&f.keep, "keep", "", "keep every recording in directory `DIR`")
	flags.Var(&f.level, "level", "level of the highest peak, such as -20dBFS (default that of the jig file)")
	flags.StringVar(&f.out, "out", "", "`FILE` for what was found out about the jig (default beside the jig file)")
	flags.BoolVar(&f.lookOnly, "look-only", false, "write no such file")
	flags.StringVar(&f.paper, "report", "", "write a report with plots to `FILE`, .html")
	flags.BoolVar(&f.fullScale, "full-scale", false, "instead: read a voltmeter and write full_scale")
	flags.StringVar(&f.volts, "volts", "", "with --full-scale: the `VOLTS` rms that were read")
	flags.BoolVar(&f.json, "json", false, "print the result as JSON")
	return cmd
}

func (a *app) verify(f verifyFlags) error {
	if err := f.checkFlags(); err != nil {
		return err
	}
	if err := a.takeJig(&f.jig); err != nil {
		return err
	}
	v, err := a.newVerification(f)
	if err != nil {
		return err
	}
	if f.fullScale {
		return a.fullScale(v)
	}
	if len(f.recordings) > 0 {
		err = a.verifyRecordings(v)
	} else {
		err = a.verifyLive(v)
	}
	a.progress.clear()
	if err != nil && len(v.evidence.Recordings) == 0 {
		return err
	}
	if err != nil {
		a.complain(err)
	}
	return a.concludeVerify(v)
}

func (f *verifyFlags) checkFlags() error {
	for _, s := range f.skip {
		if _, ok := jigcheck.ParseStep(s); !ok {
			return usagef("--skip %s: there is no such step; wheatear verify --help lists them", s)
		}
	}
	switch {
	case f.insertions < 1 || f.insertions > 100:
		return usagef("--insertions %d: 1 to 100", f.insertions)
	case !(f.minutes >= 0 && f.minutes <= 24*60):
		return usagef("--minutes %g: 0 to 1440", f.minutes)
	case !(f.longS >= 1 && f.longS <= 600):
		return usagef("--seconds %g: 1 to 600", f.longS)
	case f.volts != "" && !f.fullScale:
		return usagef("--volts is what a meter read for --full-scale")
	case f.fullScale && len(f.recordings) > 0:
		return usagef("--full-scale plays a tone for a meter; it takes no recordings")
	case len(f.recordings) > 0 && (f.keep != "" || f.level.level != nil):
		return usagef("--keep and --level are for playing and recording, but there are recordings already")
	}
	return nil
}

// verification is what a run of verify has in hand.
type verification struct {
	flags    verifyFlags
	jig      *fixture.Jig
	file     string // of the verified figures
	earlier  *jigcheck.Verified
	evidence jigcheck.Evidence
	card     string
	driver   []finding.Finding // what the driver said

	loads     []fixture.Load
	checks    []fixture.Load
	reference *fixture.Load
}

// newVerification reads the jig file as it is, without what an earlier verification
// would put in the place of its defaults: limits are those of the file.
func (a *app) newVerification(f verifyFlags) (*verification, error) {
	v := &verification{flags: f, file: f.out}
	jig, stated, err := readJigFile(f.jig)
	if err != nil {
		return nil, err
	}
	v.jig = jig
	if v.file == "" {
		v.file = verifiedFile(f.jig)
	}
	if v.earlier, err = readVerified(v.file); err != nil {
		return nil, err
	}
	v.evidence = jigcheck.Evidence{Jig: jig, Stated: stated, Earlier: v.earlier}
	v.loads = f.loads.values()
	for _, text := range f.check {
		l, err := parseLoad(text)
		if err != nil {
			return nil, &statusError{Usage, err}
		}
		v.checks = append(v.checks, l)
	}
	if f.reference != "" {
		l, err := parseLoad(f.reference)
		if err != nil {
			return nil, &statusError{Usage, err}
		}
		v.reference = &l
	}
	return v, nil
}

// skips reports whether a step is to be left out.
func (v *verification) skips(s jigcheck.Step) bool { return slices.Contains(v.flags.skip, string(s)) }

// concludeVerify examines, keeps what was found, and reports.
func (a *app) concludeVerify(v *verification) error {
	r, err := jigcheck.Examine(v.evidence)
	if err != nil {
		return err
	}
	r.Findings = append(r.Findings, v.driver...)
	file, err := a.keepVerified(v, r)
	if err != nil {
		return err
	}
	if len(r.Faults) > 0 {
		a.status.join(OtherVerdict)
	}
	doc := result.NewVerification(r, v.jig, v.card, file, a.now(), v.earlier)
	defer a.enter(entered{jig: v.flags.jig}, func(w io.Writer) error { return result.Write(w, doc) })
	if v.flags.paper != "" {
		if err := a.writeReport(v.flags.paper, tell.Verification(doc, v.beside(r)...)); err != nil {
			return err
		}
	}
	return a.show(doc, tell.Verification(doc), v.flags.json, false)
}

// beside is what a report has beside the document: spectra, what the jig can read, limits.
func (v *verification) beside(r *jigcheck.Report) (list []block.Block) {
	if len(r.Spectra) > 0 {
		list = append(list, tell.IdleNoise(v.jig.Name, r.Spectra))
	}
	if c := v.reach(r); c != nil {
		list = append(list, block.Chart{Shows: "Uncertainty of an impedance over frequency that is to be expected with the noise, contact, stray and drift found here.",
			Draw: func(w io.Writer, format plot.Format) error { return plot.DrawChart(w, c, format) }})
	}
	return append(list, tell.JigLimits())
}

// reach is what a jig of these figures can read; nil where that cannot be foretold.
func (v *verification) reach(r *jigcheck.Report) *plot.Chart {
	jig := *v.jig
	r.Model.Apply(&jig, v.evidence.Stated)
	s := &predict.Setup{Jig: &jig, Card: live.CardOf(&jig)}
	if r.Model.NoiseRMS[0] > 0 {
		s.Card.NoiseRMS, s.Card.HumRMS = r.Model.NoiseRMS, r.Model.HumRMS
	}
	chart, err := report.Reach(&jig, s)
	if err != nil {
		return nil // of a jig with such faults nothing can be foretold
	}
	return chart
}

// keepVerified writes the figures of the jig, with the earlier ones behind them, and
// returns the file; empty where nothing was written.
// Spoilt records say nothing of a jig that holds for later ones.
func (a *app) keepVerified(v *verification, r *jigcheck.Report) (file string, err error) {
	m := &r.Model
	m.Date, m.Jig, m.Card, m.RateHz = a.now().Format(time.RFC3339), v.jig.Name, v.card, v.jig.Card.RateHz
	m.Faults = []string{}
	for _, f := range r.Faults {
		m.Faults = append(m.Faults, string(f.Code))
	}
	m.Keep(v.earlier)
	if v.flags.lookOnly {
		return "", nil
	}
	for _, f := range r.Faults {
		if f.Severity == finding.Invalid {
			a.say("Nothing was written to %s: with %s the figures are not those of the jig.", v.file, f.Code)
			return "", nil
		}
	}
	text, err := m.Encode()
	if err != nil {
		return "", err
	}
	err = writeFile(v.file, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
	if err != nil {
		return "", err
	}
	return v.file, nil
}

// verifiedFile is where the verifications of a jig are kept: beside its file.
func verifiedFile(jigFile string) string {
	return strings.TrimSuffix(jigFile, filepath.Ext(jigFile)) + ".verified.json"
}

// readVerified reads the verifications of a jig; nil where there are none.
func readVerified(file string) (*jigcheck.Verified, error) {
	text, err := os.ReadFile(file)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return jigcheck.ParseVerified(file, text)
}
