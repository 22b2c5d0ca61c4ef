package cli

import (
	"io"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

// compareFlags is what the command compare can be told.
type compareFlags struct {
	jig         string
	calibration string
	at          frequencies
	good        []string
	recordings  []string
	goodPart    string
	part        string
	matters     share
	live        liveFlags
	paper       string
	json        bool
}

func newCompare(a *app) *cobra.Command {
	f := compareFlags{}
	cmd := &cobra.Command{
		Use:   "compare --jig FILE --at LIST",
		Short: "Set a part against a good one, or a board against a good board",
		Long: `Compare reads the same spot twice, of a good board and of the one in doubt, or of
two parts, with one jig and one calibration, and tells at which frequencies they
differ, by how much, and how sure that is. What both readings share, such as the
tolerance of the load, cancels, so that small differences show which the
readings alone would not tell.

Live it asks for the good one first and then for the other; on the simulated jig
--good-part and --part name them. --good and --recording take recordings
instead, an earlier one of the same spot for example.

--matters 5% says which difference matters: alike or differs where the whole
interval says so, else undecided. Without it a difference counts that two equal
parts would show in less than one case in a hundred, shared out over all
frequencies. A verdict other than alike gives exit status 4.

JSON: {"schema": "wheatear.compare/1", "jig", "calibration", "matters",
"verdict", "differences": [{"frequency_hz", "quantity", "relative", "loss",
"chance", "verdict"}], "good": [...], "readings": [...], "findings": [...]};
readings are those of measure --json.`,
		Example: `  wheatear compare --jig bench.toml --calibration live.json --at 120,1k,10k
  wheatear compare --jig jig.toml --calibration cal.json --at all \
      --good good-board.wav --recording this-board.wav --matters 5%`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.compare(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	addJig(flags, &f.jig, &f.calibration)
	flags.Var(&f.at, "at", "frequencies: 1k  100,1k,10k  ~1k  20..20k/31  all")
	flags.StringArrayVar(&f.good, "good", nil, "recording `FILE` of the good one; may be repeated")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of the one in doubt; may be repeated")
	flags.StringVar(&f.goodPart, "good-part", "", "live: `NAME` of the good part")
	flags.StringVar(&f.part, "part", "", "live: `NAME` of the part in doubt")
	a.addAs(flags)
	a.addAround(flags)
	flags.Var(&f.matters, "matters", "relative difference that matters, such as 5%")
	f.live.add(flags)
	flags.StringVar(&f.paper, "report", "", "write a report with all that it rests on to `FILE`, .html")
	flags.BoolVar(&f.json, "json", false, "print the result as JSON")
	return cmd
}

func (a *app) compare(f compareFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	if err := a.takeBench(&f.jig, &f.calibration, f.at, append(append([]string{}, f.good...), f.recordings...)); err != nil {
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
	c := &report.Comparison{Matters: f.matters.value}
	c.Good = report.Measurement{Jig: jig, As: a.as, Calibration: f.calibration, Cal: cal}
	c.Other = c.Good
	if len(f.good) > 0 {
		err = a.compareRecordings(f, c)
	} else {
		err = a.compareLive(f, c)
	}
	if err != nil {
		return err
	}
	return a.concludeComparison(f, c)
}

// check refuses what makes no sense together.
func (f *compareFlags) check() error {
	isLive := f.live.given() || f.part != "" || f.goodPart != ""
	switch {
	case len(f.at.requests) == 0:
		return usagef("at which frequencies? Add --at, such as --at 120,1k,10k")
	case (len(f.good) == 0) != (len(f.recordings) == 0):
		return usagef("--good and --recording belong together: one is set against the other")
	case len(f.good) > 0 && isLive:
		return usagef("--good-part, --part, --keep and --level are for playing and recording; leave them or the recordings out")
	}
	return nil
}

func (a *app) compareRecordings(f compareFlags, c *report.Comparison) error {
	for _, side := range []struct {
		m     *report.Measurement
		files []string
	}{{&c.Good, f.good}, {&c.Other, f.recordings}} {
		part := connection{role: fixture.PartRole, sources: a.tapes(side.files, side.m.Jig)}
		side.m.Files = part.names()
		if err := a.readPart(side.m, part, f.at); err != nil {
			return err
		}
	}
	return nil
}

// compareLive records the good one and then the other.
func (a *app) compareLive(f compareFlags, c *report.Comparison) error {
	tones, err := liveTones(f.at, c.Good.Cal)
	if err != nil {
		return err
	}
	w, err := a.openSession(f.jig, c.Good.Jig, f.live, "compare "+f.goodPart+" "+f.part)
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	defer a.tellKept(w, nil)
	w.SetReading(a.readingOptions(c.Good.Cal))
	var plan *stimulus.Plan
	for _, side := range []struct {
		m         *report.Measurement
		name, ask string
	}{
		{&c.Good, f.goodPart, "The GOOD one: connect it, and press Enter."},
		{&c.Other, f.part, "The one IN DOUBT: connect it at the same spot, and press Enter."},
	} {
		if err := a.connect(w, side.name, side.ask); err != nil {
			return err
		}
		if plan == nil {
			if plan, err = w.Plan(a.ctx, tones); err != nil {
				return err
			}
		}
		if err := a.readSide(w, side.m, side.name, plan); err != nil {
			return err
		}
	}
	return nil
}

// connect has a part put in: by name into the simulated jig, else by a person.
func (a *app) connect(w *work, name, question string) error {
	if w.Simulated() {
		return putPart(w, name)
	}
	_, err := a.ask(question)
	return err
}

// readSide records what is connected and reads it.
func (a *app) readSide(w *work, m *report.Measurement, name string, plan *stimulus.Plan) error {
	t, err := w.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: name}, plan)
	a.progress.clear()
	if err != nil {
		return err
	}
	read, err := a.liveReadings(measureFlags{calibration: m.Calibration}, m.Jig, m.Cal, []fixture.Observation{t.Observation}, live.Frequencies(plan))
	if err != nil {
		return err
	}
	*m = *read
	if t.Driver != nil {
		m.AddFindings([]finding.Finding{*t.Driver})
	}
	return nil
}

// concludeComparison sets the readings against each other and shows it.
func (a *app) concludeComparison(f compareFlags, c *report.Comparison) error {
	for _, m := range []*report.Measurement{&c.Good, &c.Other} {
		for _, r := range m.Readings {
			if !r.Trusted {
				a.status.join(Untrusted)
			}
			m.AddFindings(r.Findings)
		}
	}
	if err := c.Compare(); err != nil {
		return err
	}
	doc := c.Document()
	if doc.Verdict != result.Alike {
		a.status.join(OtherVerdict)
	}
	defer a.enter(entered{label: f.part, jig: f.jig, calibration: f.calibration, cal: c.Good.Cal, files: append(append([]string{}, c.Good.Files...), c.Other.Files...)},
		func(w io.Writer) error { return result.Write(w, doc) })
	told := tell.Comparison(doc)
	if err := a.show(doc, told, f.json, false); err != nil {
		return err
	}
	return a.writeReport(f.paper, told)
}
