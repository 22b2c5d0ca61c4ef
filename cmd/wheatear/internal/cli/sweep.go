package cli

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/export"
	"example.org/wheatear/cmd/wheatear/internal/render/csv"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/sweep"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// sweepFlags is what the command sweep can be told.
type sweepFlags struct {
	jig         string
	calibration string
	at          string
	perDecade   float64
	recordings  []string
	part        string
	together    bool
	to          share
	within      quantity
	resume      string
	state       string
	live        liveFlags
	csv         string
	touchstone  string
	plot        string
	plane       string
	paper       string
	json        bool
	entry       entered

	frequencies frequencies // what at and perDecade amount to
}

// unfinished is where a sweep keeps its points until it is finished.
const unfinished = "sweep-unfinished.json"

func newSweep(a *app) *cobra.Command {
	f := sweepFlags{within: quantity{0, parts.Second, "S"}}
	cmd := &cobra.Command{
		Use:   "sweep --jig FILE --at LIST",
		Short: "Read a part over frequency, live or from recordings",
		Long: `Sweep reads a part at many frequencies and shows them as a table, and on demand
as JSON, CSV and a plot. --at 20..20k/31 are 31 points, evenly spaced on a
logarithmic scale; --at 20..20k --per-decade 10 are as many. They may be moved a
little: to a calibrated frequency, or to where the mains does not disturb them.

The tones are played one after the other, each as long as the jig file says.
--together plays all at once: much faster, at a lower level of each. --to ends
each point when |Z| is known that well (half of the 95 % interval).

Every finished point of a stepped sweep is kept in a file, ` + unfinished + `
or --state, until the sweep is complete. Interrupted by ctrl-C or by an error it
reports the finished points, with exit status 1; --resume FILE goes on from
there and reports all of them.

--recording reads the points from recordings, as measure does.

JSON: {"schema": "wheatear.sweep/1", "jig", "calibration", "part",
"points_asked", "together", "signal_s" (seconds of recording), "readings":
[...], "findings": [...]}; readings are those of measure --json. CSV has the
same quantities, four columns each: value, u, low, high.`,
		Example: `  wheatear sweep --jig bench.toml --calibration live.json --at 20..20k/31 \
      --part c100n --together --plot c100n.svg --csv c100n.csv
  wheatear sweep --jig jig.toml --calibration cal.json --at all \
      --recording part.wav`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.sweep(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	addJig(flags, &f.jig, &f.calibration)
	flags.StringVar(&f.at, "at", "", "frequencies, a `LIST`: 20..20k/31  100,1k,10k  all")
	flags.Float64Var(&f.perDecade, "per-decade", 0, "`NUMBER` of points in a factor of ten, with --at 20..20k")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of the part; may be repeated")
	flags.StringVar(&f.part, "part", "", "live: `NAME` of the part, for the names of recordings; the simulated jig puts it in")
	flags.BoolVar(&f.together, "together", false, "live: play all tones at once")
	flags.Var(&f.to, "to", "live: wanted uncertainty of each point, such as 0.2%")
	flags.Var(&f.within, "within", "live: record each point for this long at the most")
	f.live.add(flags)
	a.addAs(flags)
	a.addAround(flags)
	flags.StringVar(&f.state, "state", "", "live: `FILE` for the finished points (default "+unfinished+")")
	flags.StringVar(&f.resume, "resume", "", "go on with the sweep of which `FILE` keeps the points")
	flags.StringVar(&f.csv, "csv", "", "write the points as CSV to `FILE`")
	flags.StringVar(&f.touchstone, "touchstone", "", "write them as a Touchstone file of one port, which circuit simulators read, to `FILE`: .s1p with S re 50 ohm, .z1p with plain ohms")
	flags.StringVar(&f.plot, "plot", "", "draw them over frequency into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.plane, "plane", "", "draw them in the plane of complex numbers into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.paper, "report", "", "write a report with all that they rest on to `FILE`, .html")
	f.entry.describe(flags)
	flags.BoolVar(&f.json, "json", false, "print the sweep as JSON")
	return cmd
}

func (a *app) sweep(f sweepFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	if f.resume != "" {
		return a.resumeSweep(f)
	}
	if err := a.takeBench(&f.jig, &f.calibration, f.frequencies, f.recordings); err != nil {
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
	switch {
	case len(f.recordings) > 0:
		return a.sweepRecordings(f, jig, cal)
	case f.together:
		return a.sweepTogether(f, jig, cal)
	}
	return a.sweepSteps(f, jig, cal)
}

// check refuses what makes no sense together, and reads --at.
func (f *sweepFlags) check() error {
	for _, file := range []string{f.plot, f.plane} {
		if file == "" {
			continue
		}
		if _, err := plot.FormatOf(file); err != nil {
			return &statusError{Usage, err}
		}
	}
	recorded := len(f.recordings) > 0
	isLive := f.live.given() || f.part != "" || f.together || f.to.value != 0 || f.within.value != 0 || f.state != ""
	switch {
	case f.resume != "" && (f.jig != "" || f.calibration != "" || f.at != "" || f.perDecade != 0 || recorded || isLive && f.live.keep == ""):
		return usagef("--resume takes everything from %s; beside it are possible: --keep, --csv, --touchstone, --plot, --plane, --report, --label, --note, --json", f.resume)
	case f.resume != "":
		return nil
	case recorded && isLive:
		return usagef("--part, --together, --to, --within, --state, --keep and --level are for playing and recording; leave them or --recording out")
	case f.together && f.state != "":
		return usagef("--together records all points at once, so that there are no finished ones to keep: leave --state out")
	}
	return f.readAt()
}

// readAt turns --at and --per-decade into frequencies.
func (f *sweepFlags) readAt() error {
	if f.at == "" {
		return usagef("at which frequencies? Add --at, such as --at 20..20k/31")
	}
	text := f.at
	if f.perDecade != 0 {
		low, high, err := f.ends()
		if err != nil {
			return err
		}
		text += fmt.Sprintf("/%d", sweep.PerDecade(low, high, f.perDecade))
	}
	if err := f.frequencies.Set(text); err != nil {
		return usagef("--at: %s", plain(err))
	}
	return nil
}

// ends reads the range that --per-decade divides.
func (f *sweepFlags) ends() (lowHz, highHz float64, err error) {
	low, high, isRange := strings.Cut(f.at, "..")
	if !isRange || strings.ContainsAny(f.at, "/,") || !(f.perDecade > 0) || math.IsInf(f.perDecade, 0) {
		return 0, 0, usagef("--per-decade divides one range: write it as --at 20..20k --per-decade 10")
	}
	if lowHz, err = parts.ParsePositive(strings.TrimLeft(low, "~ "), parts.Hertz); err == nil {
		highHz, err = parts.ParsePositive(high, parts.Hertz)
	}
	if err != nil {
		return 0, 0, usagef("--at: %s", plain(err))
	}
	return lowHz, highHz, nil
}

// sweepRecordings reads the points from recordings and reports them.
func (a *app) sweepRecordings(f sweepFlags, jig *fixture.Jig, cal *fixture.Calibration) error {
	s, err := a.recordedSweep(f, jig, cal)
	if err != nil {
		return err
	}
	return a.concludeSweep(f, s)
}

// recordedSweep reads the points from recordings.
func (a *app) recordedSweep(f sweepFlags, jig *fixture.Jig, cal *fixture.Calibration) (*report.Sweep, error) {
	part := connection{role: fixture.PartRole, sources: a.tapes(f.recordings, jig)}
	s := &report.Sweep{Measurement: report.Measurement{Jig: jig, As: a.as, Calibration: f.calibration, Cal: cal, Files: part.names()}}
	if err := a.readPart(&s.Measurement, part, f.frequencies); err != nil {
		return nil, err
	}
	s.Asked = len(s.Readings)
	return s, nil
}

// concludeSweep prints the points and writes the files that were asked for.
func (a *app) concludeSweep(f sweepFlags, s *report.Sweep) error {
	for _, r := range s.Readings {
		if !r.Trusted {
			a.status.join(Untrusted)
		}
		s.AddFindings(r.Findings)
	}
	doc := s.Document()
	told := tell.Sweep(doc)
	if err := a.show(doc, told, f.json, false); err != nil {
		return err
	}
	a.enterSweep(f, s)
	if f.csv != "" {
		if err := writeFile(f.csv, func(w io.Writer) error { return csv.Write(w, told) }); err != nil {
			return err
		}
	}
	if f.touchstone != "" {
		if err := writeFile(f.touchstone, func(w io.Writer) error { return export.Touchstone(w, doc, export.Form(f.touchstone)) }); err != nil {
			return err
		}
	}
	return errors.Join(
		a.writeReport(f.paper, told),
		a.draw(f.plot, block.ChartOf(told).Draw),
		a.draw(f.plane, tell.Plane(doc).Draw))
}

// draw writes a picture, if that is wanted.
func (a *app) draw(file string, picture func(w io.Writer, format plot.Format) error) error {
	if file == "" {
		return nil
	}
	format, err := plot.FormatOf(file)
	if err != nil {
		return err
	}
	err = writeFile(file, func(w io.Writer) error { return picture(w, format) })
	if err != nil {
		return fmt.Errorf("%s was not drawn: %w", file, err)
	}
	return nil
}
