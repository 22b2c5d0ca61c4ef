package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
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
	plot, paper string
	json        bool
}

func newSort(a *app) *cobra.Command {
	f := sortFlags{within: quantity{3, parts.Second, "S"}, csv: "sorted.csv"}
	cmd := &cobra.Command{
		Use:   "sort --expect PART",
		Short: "Judge and bin a run of parts, one after the other",
		Long: `Sort judges parts of one kind: put one in, and it notices, waits until the reading
has settled, records until the decision is safe (95 %) or --within is over, says
the verdict in large letters and the bin, and waits until the part is out and the
next one in. A part that moves, or a record that is spoilt, is read again, and no
verdict is made of it. Ctrl-C ends the run and keeps it.

--expect names the part with its tolerance, such as 100nJ or 4k7/1%. A part is
undecided where it lies so near a limit that the probability is less than 95 %
either way; what uncertainty would decide it is told. --bins E24 puts each part to the
nearest value of a series, --bins 1%,5%,10% to the narrowest tolerance that holds
it, --bins 90n..100n,100n..110n to a range.

Every part is written to --csv, and is on the disk before the next is asked for.
The same command goes on with the run that the file holds: a part of a name that
is there already is not read again (twice the same name are two parts).

The simulated jig takes the parts of --part, which may be repeated, or else all of
its tray, puts them in and takes them out. --recording stands for a part each.

At the end: how many passed, how the parts spread with the measurement's share of
the spread taken out, and what does not belong to the run: unread, far from the
others, or failed without being the tail of the rest. Exit status 4 if any part
did not pass, 3 if one could not be read.

A part of another kind, such as a capacitor among resistors, fails, has no value,
and is told by what it is. --as Cp or Rs chooses the equivalent circuit.

JSON, at the end: {"schema": "wheatear.sort/1", "jig", "calibration", "expected",
"file", "parts": [{"number", "name", "value", "u", "low", "high", "unit",
"verdict", "risk", "u_to_decide", "bin", "bin_chance", "u_own", "main",
"left_out_by", "time"}], "passed", "failed", "undecided", "mean", "mean_u",
"spread", "spread_u", "spread_measured", "measurement_share", "outliers":
[numbers], "as", "limits", "bins", "findings", "rests_on"}; u_own is what of u a
part does not share with the others, "main" what it is told by. CSV: the same for
each part; names end in units.
The name of a part that a spreadsheet would compute has an apostrophe before it.`,
		Example: `  wheatear sort --jig bench.toml --calibration live.json --at 1k --expect 100nJ \
      --bins 1%,2%,5% --csv lot7.csv`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.sort(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	addJig(flags, &f.jig, &f.calibration)
	flags.Var(&f.at, "at", "one frequency: 1k  ~1k (live, default the one that suits --expect)")
	flags.Var(&f.expect, "expect", "the part with its tolerance: a marking or a value")
	flags.StringVar(&f.bins, "bins", "", "`BINS`: E24  1%,5%,10%  90n..100n,100n..110n")
	flags.StringVar(&f.csv, "csv", f.csv, "write the parts to `FILE`, and go on with what it holds")
	flags.Var(&f.within, "within", "live: record a part for this long at the most")
	flags.IntVar(&f.count, "count", 0, "live: end once the run has this `NUMBER` of parts")
	flags.StringArrayVar(&f.parts, "part", nil, "simulated: `NAME` of a part; may be repeated (default all of the tray)")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of a part; may be repeated")
	f.live.add(flags)
	a.addAs(flags)
	flags.StringVar(&f.plot, "plot", "", "draw the histogram into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.paper, "report", "", "write a report of the run to `FILE`, .html")
	flags.BoolVar(&f.json, "json", false, "print the run as JSON at its end")
	return cmd
}

// sorting is a run under way.
type sorting struct {
	app      *app
	f        sortFlags
	m        report.Measurement
	expected parts.Marking
	bins     *batch.Bins
	file     *run.File
	seen     map[string]int // parts of a name that have come by
}

func (a *app) sort(f sortFlags) error {
	s, err := a.newSorting(f)
	if err != nil {
		return err
	}
	defer s.file.Close()
	s.tellResumed()
	if len(f.recordings) > 0 {
		err = s.recordings()
	} else {
		err = s.live()
	}
	a.progress.clear()
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
	if err := a.takeBench(&f.jig, &f.calibration, f.at, f.recordings); err != nil {
		return nil, err
	}
	s := &sorting{app: a, f: f, expected: parts.Likeliest(f.expect.readings, f.expect.text), seen: map[string]int{}}
	jig, err := readJig(f.jig)
	if err != nil {
		return nil, err
	}
	cal, err := readCalibration(f.calibration)
	if err != nil {
		return nil, err
	}
	if len(f.at.requests) == 0 {
		suited, err := a.suitedFor(s.expected, f.jig, jig, cal)
		if err != nil {
			return nil, errors.Join(err, usagef("no frequency can be chosen by --expect %s: name one with --at", f.expect.text))
		}
		s.f.at = atOne(live.Tone(suited.FreqHz, cal))
	}
	if want := impedance.ElementIn(s.expected.Unit.String()); a.as != (impedance.Element{}) && a.as.Kind != want.Kind {
		return nil, usagef("--as %s: parts of %s are judged by their %s: use %s, %ss or %sp", a.as, f.expect.text, want.Words(), want.Letter(), want.Letter(), want.Letter())
	}
	s.m = report.Measurement{Jig: jig, As: a.as, Calibration: f.calibration, Cal: cal}
	if f.bins != "" {
		if s.bins, err = batch.ParseBins(f.bins, s.expected.Value, s.expected.Unit); err != nil {
			return nil, usagef("--bins: %s", plain(err))
		}
	}
	s.file, err = run.Open(f.csv, run.Kind{Unit: s.expected.Unit, Expected: run.Expectation(s.expected)})
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
	case f.at.all() || len(f.at.requests) > 1 || len(f.at.requests) == 0 && len(f.recordings) > 0:
		return usagef("at which frequency? Sort reads at one: --at 1k")
	case len(f.recordings) > 0 && (len(f.parts) > 0 || f.live.given() || f.count > 0):
		return usagef("--part, --count, --keep and --level are for playing and recording; leave them or --recording out")
	case f.count < 0:
		return usagef("--count %d: that is no number of parts", f.count)
	}
	return nil
}

// tellResumed says where an earlier run ended.
func (s *sorting) tellResumed() {
	list := s.file.Parts()
	if len(list) == 0 {
		return
	}
	s.app.say("%s holds %d parts; going on. The last was:", s.f.csv, len(list))
	s.sayPart(s.document(), false)
}

// there reports whether the run has this part of a name already: the second that comes
// by is the second in the file.
func (s *sorting) there(name string) bool {
	s.seen[name]++
	return s.seen[name] <= s.file.Count(name)
}

// recordings judges a part for each. One that cannot be read at all is told, and those
// after it are judged all the same.
func (s *sorting) recordings() error {
	a := s.app
	for _, t := range a.tapes(s.f.recordings, s.m.Jig) {
		if s.there(t.name()) {
			continue
		}
		r, err := s.recording(t)
		switch {
		case a.ctx.Err() != nil:
			return context.Cause(a.ctx)
		case err != nil:
			a.complain(err)
			continue
		}
		if err := s.add(t.name(), r); err != nil {
			return err
		}
	}
	return nil
}

// recording reads one part.
func (s *sorting) recording(t source) (*report.Reading, error) {
	var calibrated []float64
	if s.m.Cal != nil {
		calibrated = s.m.Cal.Frequencies()
	}
	one := connection{role: fixture.PartRole, sources: []source{t}}
	freqs, err := tones(s.f.at, one.sources, s.m.Jig.MainsHz, calibrated)
	if err != nil {
		return nil, err
	}
	h, err := one.hear(freqs, s.m.Jig.MainsHz)
	if err != nil {
		return nil, err
	}
	return s.read(h, freqs[0])
}

// read makes a reading and judges it.
func (s *sorting) read(h *heard, freqHz float64) (*report.Reading, error) {
	r, err := s.app.reading(&s.m, h, freqHz)
	if err == nil {
		r.Judgement, err = r.Corrected.JudgeAs(s.m.As, []parts.Marking{s.expected}, parts.Rule{}, impedance.Config{})
	}
	return r, err
}

// add keeps a part and shows its verdict.
func (s *sorting) add(name string, r *report.Reading) error {
	p, err := s.file.Add(run.Judged(name, s.app.now(), r.Corrected, r.Judgement, s.bins))
	if err != nil {
		return fmt.Errorf("part %d was read, but could not be written: %w", p.Number, err)
	}
	s.app.progress.clear()
	large := isTerminal(s.app.talk)
	doc := s.document()
	s.sayPart(doc, large)
	if large {
		io.WriteString(s.app.talk, text.Paragraph("      ", tell.Tally(doc), text.LookOf(s.app.talk)))
	}
	if !r.Corrected.Trusted {
		s.app.findings(r.Findings)
	}
	s.m.AddFindings(r.Findings)
	return nil
}

// document is the run as it is.
func (s *sorting) document() *result.Sorted {
	return result.NewSorted(s.m.Document(), s.expected, s.f.expect.text, s.f.csv, s.bins, s.file.Parts())
}

// sayPart shows the last part of a run in a line, and in a second one what keeps it from
// being decided, or what it is instead. Large shows the verdict in large letters, too.
func (s *sorting) sayPart(doc *result.Sorted, large bool) {
	p := &doc.Parts[len(doc.Parts)-1]
	verdict := strings.ToUpper(tell.Outcome(p))
	if large {
		io.WriteString(s.app.talk, text.Large(verdict))
	}
	bin, doubt := tell.SortedBin(p)
	told := block.Say("%v", bin)
	if bin != "" {
		told = block.Say("bin %v", bin)
	}
	if len(doubt) > 0 {
		told = block.Say("%v (%v)", told, doubt)
	}
	fmt.Fprintln(s.app.talk, text.Columns([]int{4, 9, 24}, block.Say("%v%v", strings.Repeat(" ", max(0, 4-len(strconv.Itoa(p.Number)))), p.Number),
		block.Say("%v", verdict), block.Say("%v", tell.SortedValue(p)), told))
	if p.Verdict == string(parts.Undecided) && p.Value != nil || p.Verdict == string(parts.Fail) && p.Value == nil {
		io.WriteString(s.app.talk, text.Paragraph("      ", tell.WhyJudged(p, doc.Limits), text.LookOf(s.app.talk)))
	}
}

// conclude says how the run went.
func (s *sorting) conclude() error {
	a, f, doc := s.app, s.f, s.document()
	if doc.Passed < len(doc.Parts) {
		a.status.join(OtherVerdict)
	}
	if doc.Unread() > 0 {
		a.status.join(Untrusted)
	}
	told := tell.Sorted(doc)
	defer a.enterResult(entered{label: f.expect.text, jig: f.jig, calibration: f.calibration, cal: s.m.Cal, files: f.recordings}, doc)
	if err := a.show(doc, told, f.json, false); err != nil {
		return err
	}
	return errors.Join(a.writeReport(f.paper, told), a.draw(f.plot, block.ChartOf(told).Draw))
}
