package cli

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/stimulus"
)

// planFlags is what the command plan can be told.
type planFlags struct {
	jig       string
	expect    string
	want      share
	drawer    string
	at        frequencies
	load      string
	noise     level
	hum       level
	kind      partType
	grid      bool
	inCircuit bool
	aside     bool
	chart     string
	paper     string
	json      bool
}

func newPlan(a *app) *cobra.Command {
	f := planFlags{}
	cmd := &cobra.Command{
		Use:   "plan --jig FILE --expect PART",
		Short: "Tell before measuring what to set, and what it will come to",
		Long: `Plan tells, for a part and a jig, which frequency, reference resistor, level and
length of record to use, how far the part will then be known, and what limits it.
It computes what a reading would compute, from the signals that the part is
expected to give: there is no second set of rules.

--drawer lists the resistors that could be the reference; --want says how well
the part is to be known, and the record becomes as long as that takes. The
frequencies are those that component standards and the trade mean for the part;
--at names others; --aside moves what lies on a line of the mains. The level is
the one that they ask for across the part, as far as the card goes, where
full_scale is known; else that of the jig file.

Noise and hum of the inputs are those of the last verify; else -96 dBFS over the
whole band and -90 dBFS are assumed (common practice, no source), and --noise
and --hum say otherwise. Drift, contact and stray are those of the jig file and
of verify. The source is taken to reach full scale of the less sensitive input.

Where a wish is not reached, what would reach it is looked for: a reference that
is not in the drawer, a frequency aside from the mains, a better load.

--chart draws how far an impedance can be read over frequency, to 0.1 %, 1 % and
10 %, with up to four references that serve best, lines of constant C and L, and
the part in it; --grid prints this for the best reference; with --json it has the
figures of the chart put under "reach".

JSON: {"schema": "wheatear.plan/1", "part", "meant", "jig", "reference_ohm",
"assumed", "wanted", "longer": {"seconds", "half_width"}, "choices":
[{"reference_ohm", "frequency_hz", "standard", "peak_dbfs", "seconds",
"half_width", "reached", "circuit", "limits": [{"source", "u", "share", "why"}],
"warnings": [...], "level": {...}, "at", "level_asked", "changes": [...],
"words": {...}}],
"remedies": [{"change", "half_width", "reached", "words"}], "reach":
{"references": [...], "part": {...}}}, the best choice first; half_width is
relative, of the 95 % interval; "at" and "level_asked" are what to give to
calibrate and measure.`,
		Example: `  wheatear plan --jig bench.toml --expect 4700u --drawer 10,100,1k,10k
  wheatear plan --jig bench.toml --expect 22uH --want 1% --chart reach.svg`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.plan(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.jig, "jig", "", "jig `FILE`")
	flags.StringVar(&f.expect, "expect", "", "the `PART`: 4700u  22uH  4k7  100nJ")
	flags.Var(&f.want, "want", "how well it is to be known, such as 1%")
	flags.Var(&f.kind, "kind", "what it is, such as ceramic-2 (wheatear parts -h lists them)")
	flags.StringVar(&f.drawer, "drawer", "", "`RESISTORS` that could be the reference: 10,100,1k,10k")
	flags.Var(&f.at, "at", "frequencies instead of those meant for the part")
	flags.BoolVar(&f.aside, "aside", false, "move those meant for the part off the lines of the mains")
	flags.StringVar(&f.load, "load", "", "`LOAD` of the calibration, such as 1k/0.1% (default one of the value and tolerance of the reference)")
	flags.Var(&f.noise, "noise", "noise of the inputs over the whole band (default that of verify, else -96dBFS)")
	flags.Var(&f.hum, "hum", "hum of the inputs, all lines together (default that of verify, else -90dBFS)")
	flags.BoolVar(&f.inCircuit, "in-circuit", false, "the part is soldered in a board")
	flags.StringVar(&f.chart, "chart", "", "draw what this jig can read into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.paper, "report", "", "write the plan as a report to `FILE`, .html")
	flags.BoolVar(&f.grid, "grid", false, "the same for the best reference, in letters")
	flags.BoolVar(&f.json, "json", false, "print the plan as JSON")
	for _, name := range []string{"noise", "hum"} {
		flags.Lookup(name).DefValue = "" // the text says what is taken then
	}
	return cmd
}

func (a *app) plan(f planFlags) error {
	if f.chart != "" {
		if _, err := plot.FormatOf(f.chart); err != nil {
			return &statusError{Usage, err}
		}
	}
	wish, err := f.wish()
	if err != nil {
		return err
	}
	if err := a.takeJig(&f.jig); err != nil {
		return err
	}
	jig, err := readJig(f.jig)
	if err != nil {
		return err
	}
	setup, err := f.setup(jig)
	if err != nil {
		return err
	}
	if wish.FreqsHz, err = f.tones(setup); err != nil {
		return err
	}
	plan, err := setup.Plan(wish)
	if err != nil {
		return err
	}
	if len(plan.Choices) == 0 {
		return errors.Join(append([]error{errors.New("nothing can be planned for this part with this jig")}, plan.Refused...)...)
	}
	p := &report.Planning{Jig: jig, Text: f.expect, Setup: setup, Plan: plan, Reach: f.grid || f.chart != "" || f.paper != ""}
	doc, err := p.Document()
	if err != nil {
		return err
	}
	whole := tell.Plan(doc) // with the reach, for what is drawn
	printed := *doc
	if !f.grid {
		printed.Reach = nil
	}
	defer a.enterResult(entered{label: f.expect, jig: f.jig}, &printed)
	if err := a.show(&printed, tell.Plan(&printed), f.json, false); err != nil {
		return err
	}
	return errors.Join(a.writeReport(f.paper, whole), a.draw(f.chart, block.ChartOf(whole).Draw))
}

// wish is what is asked for.
func (f *planFlags) wish() (w predict.Wish, err error) {
	if f.expect == "" {
		return w, usagef("which part? Add --expect, such as --expect 4700u")
	}
	m, err := parts.Expect(f.expect, f.kind.kind.Unit())
	if err != nil {
		return w, usagef("--expect: %s", plain(err))
	}
	w.Want, w.InCircuit, w.Aside = f.want.value, f.inCircuit, f.aside
	if w.Part, err = predict.NewPart(m, f.kind.kind); err != nil {
		return w, usagef("--expect: %s", plain(err))
	}
	for _, text := range strings.Split(f.drawer, ",") {
		if f.drawer == "" {
			break
		}
		ohm, err := parts.ParsePositive(strings.TrimSpace(text), parts.Ohm)
		if err != nil {
			return w, usagef("--drawer: %s", plain(err))
		}
		w.ReferenceOhm = append(w.ReferenceOhm, ohm)
	}
	for _, r := range f.at.requests {
		if r.All {
			return w, usagef("--at all means the tones of a recording; name frequencies")
		}
	}
	return w, nil
}

// tones are the frequencies asked for, moved as a measurement would move them; nil
// for none.
func (f *planFlags) tones(s *predict.Setup) ([]float64, error) {
	var out []float64
	for _, r := range f.at.requests {
		hz := r.FreqHz
		if r.Movable {
			plan, err := stimulus.PlanTones(stimulus.Config{RateHz: s.Card.RateHz, Seconds: s.Card.Seconds + 0.1, MainsHz: s.Jig.MainsHz},
				[]stimulus.ToneRequest{{FreqHz: hz, Movable: true}})
			if err != nil {
				return nil, usagef("--at: %s", plain(err))
			}
			hz = plan.Tones[0].FreqHz
		}
		out = append(out, hz)
	}
	return out, nil
}

// setup is the jig with what is known of its card.
func (f *planFlags) setup(jig *fixture.Jig) (*predict.Setup, error) {
	s := &predict.Setup{Jig: jig, Card: live.CardOf(jig)}
	verified, err := readVerified(verifiedFile(f.jig))
	if err != nil {
		return nil, err
	}
	if verified != nil && verified.NoiseRMS[0] > 0 {
		s.Card.NoiseRMS, s.Card.HumRMS = verified.NoiseRMS, verified.HumRMS
	}
	if f.noise.db < 0 {
		s.Card.NoiseRMS = [2]float64{f.noise.peak(), f.noise.peak()}
	}
	if f.hum.db < 0 {
		s.Card.HumRMS = [2]float64{f.hum.peak(), f.hum.peak()}
	}
	if f.load != "" {
		load, err := parseLoad(f.load)
		if err != nil {
			return nil, &statusError{Usage, err}
		}
		s.Load = &load
	}
	return s, nil
}
