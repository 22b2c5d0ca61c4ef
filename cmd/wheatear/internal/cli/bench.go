package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/bench"
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// noCalibration is what --calibration says where none is wanted.
const noCalibration = "none"

// takeBench settles jig and calibration of a command that names no jig: those of the
// current bench, with the newest calibration that fits, and says so in a line. What is
// named is obeyed. Recordings that this bench has not made get no calibration unasked.
func (a *app) takeBench(jig, calibration *string, at frequencies, recordings []string) error {
	none := *calibration == noCalibration
	if none {
		*calibration = ""
	}
	if *jig != "" {
		return nil
	}
	b, now, err := a.currentBench()
	if err != nil || b == nil {
		return err
	}
	*jig = b.Jig
	said := "uncalibrated, as asked"
	switch {
	case *calibration != "":
		said = "calibration " + *calibration
	case none:
	case len(recordings) > 0 && !madeHere(b, recordings):
		said = "uncalibrated: these recordings were not kept by this bench; name a calibration with --calibration"
	default:
		*calibration, said = a.fitting(b, now, at)
	}
	a.say("Bench %s: %s.", b.Name, said)
	return nil
}

// takeJig settles the jig of a command that has no use for a calibration.
func (a *app) takeJig(jig *string) error {
	if *jig != "" {
		return nil
	}
	b, _, err := a.currentBench()
	if b != nil {
		*jig = b.Jig
		a.say("Bench %s.", b.Name)
	}
	return err
}

// currentBench is the current bench with its jig, or nil where there is none.
func (a *app) currentBench() (*bench.Bench, *fixture.Jig, error) {
	shelf, err := bench.Open()
	if err != nil {
		return nil, nil, nil // without a folder for data there is no bench
	}
	b, err := shelf.Current()
	if errors.Is(err, bench.ErrNone) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	jig, err := readJig(b.Jig)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil, fmt.Errorf("the jig file of bench %s is gone: %s: put it back, choose another bench (wheatear bench use NAME) or name a jig with --jig FILE", b.Name, b.Jig)
	}
	return b, jig, err
}

// fitting is the newest calibration of a bench that serves for a jig at some
// frequencies, and what is to be said of it; empty where none does.
func (a *app) fitting(b *bench.Bench, jig *fixture.Jig, at frequencies) (file, said string) {
	list, err := b.Calibrations()
	if err != nil {
		return "", "uncalibrated: " + plain(err)
	}
	if len(list) == 0 {
		return "", "uncalibrated: it has no calibration yet; wheatear calibrate makes one"
	}
	newest := ""
	for _, file := range list {
		cal, err := readCalibration(file)
		why := ""
		if err != nil {
			why = plain(err)
		} else {
			why = unfit(cal, file, jig, at)
		}
		if why == "" {
			return file, fmt.Sprintf("calibrated %s at %s", a.ago(cal.About.Date), span(cal))
		}
		if newest == "" {
			newest = why
		}
	}
	return "", "uncalibrated: no calibration fits; of the newest: " + newest
}

// asked reads a list of frequencies; what is wrong with it is found by who uses it.
func asked(text string) (f frequencies) {
	if text != "" {
		_ = f.Set(text)
	}
	return f
}

// unfit says why a calibration does not serve; empty where it does.
func unfit(cal *fixture.Calibration, file string, jig *fixture.Jig, at frequencies) string {
	rateHz := jig.Card.RateHz
	if rateHz == 0 {
		rateHz = cal.RateHz
	}
	if list := cal.Unfit(jig, rateHz); len(list) > 0 {
		return list[0]
	}
	if text, err := bench.JigOf(file); err == nil {
		if was, err := fixture.ParseJig(file, text); err == nil && (was.Card.Backend != jig.Card.Backend || was.Card.Input != jig.Card.Input || was.Card.Output != jig.Card.Output) {
			return fmt.Sprintf("the card was %s, now it is %s", cardName(was), cardName(jig))
		}
	}
	for _, r := range at.requests {
		within := 1e-6
		if r.Movable {
			within = maxMove
		}
		if r.All {
			continue
		}
		if _, ok := nearest(cal.Frequencies(), r.FreqHz, within); !ok {
			return "it has no " + placeText(r.FreqHz)
		}
	}
	return ""
}

func cardName(jig *fixture.Jig) string {
	if jig.Card.Input == "" {
		return orDefault(jig.Card.Backend, "none")
	}
	return jig.Card.Input
}

func placeText(freqHz float64) string {
	return strings.ReplaceAll((&typeset.Setter{}).Value(block.PlaceHz(freqHz)), "\u00a0", " ") // in lines that are not set
}

// span is the frequencies of a calibration in short.
func span(cal *fixture.Calibration) string {
	freqs := cal.Frequencies()
	switch len(freqs) {
	case 1:
		return placeText(freqs[0])
	case 2:
		return placeText(freqs[0]) + " and " + placeText(freqs[1])
	}
	return fmt.Sprintf("%d frequencies from %s to %s", len(freqs), placeText(freqs[0]), placeText(freqs[len(freqs)-1]))
}

// ago is a moment, and how long it is past.
func (a *app) ago(then time.Time) string {
	if then.IsZero() {
		return "at an unknown time"
	}
	text, past := then.Local().Format("2006-01-02 15:04"), a.now().Sub(then)
	switch {
	case past < 0:
		return text
	case past < 2*time.Minute:
		return "just now"
	case past < 2*time.Hour:
		return fmt.Sprintf("%s (%.0f minutes ago)", text, past.Minutes())
	case past < 48*time.Hour:
		return fmt.Sprintf("%s (%.0f hours ago)", text, past.Hours())
	}
	return fmt.Sprintf("%s (%.0f days ago)", text, past.Hours()/24)
}

// madeHere tells whether all recordings lie in folders that this bench has kept: each
// holds the jig file that it was made with.
func madeHere(b *bench.Bench, recordings []string) bool {
	now, err := os.ReadFile(b.Jig)
	if err != nil {
		return false
	}
	for _, r := range recordings {
		text, err := os.ReadFile(filepath.Join(filepath.Dir(r), "jig.toml"))
		if err != nil || string(text) != string(now) || filepath.Join(filepath.Dir(r), "jig.toml") == b.Jig {
			return false
		}
	}
	return true
}

// keepWith is the bench that keeps a calibration of a jig file, or why there is none.
func keepWith(jigFile string) (*bench.Bench, error) {
	shelf, err := bench.Open()
	if err != nil {
		return nil, err
	}
	return shelf.Of(jigFile)
}

// rememberBench makes the jig of a file the current bench; where that cannot be, it is
// told and changes nothing else.
func (a *app) rememberBench(jig *fixture.Jig, file string) bool {
	shelf, err := bench.Open()
	if err == nil {
		var b *bench.Bench
		if b, err = shelf.Remember(jig.Name, file); err == nil {
			a.say("Bench %s is the current one: commands without --jig use it.", b.Name)
			return true
		}
	}
	a.say("wheatear: not remembered as a bench: %s", plain(err))
	return false
}

func newBench(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "Show, choose, export or import jigs with their calibrations",
		Long: `A bench is a jig with its calibrations, remembered by setup and calibrate, so
that other commands need not be told: without --jig they use the current bench
and its newest calibration that fits jig, card, rate and frequencies, and say
which. --jig FILE alone is uncalibrated; --calibration none wants none.

Without a further word, bench shows the current one and lists the others.`,
		Example: `  wheatear bench
  wheatear bench use kitchen-table-jig
  wheatear bench export kitchen.zip`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.showBench() },
	}
	var out string
	sub := func(use, short, example string, run func(shelf *bench.Shelf, word string) error) *cobra.Command {
		return &cobra.Command{
			Use: use, Short: short, Long: short + ".", Example: "  wheatear bench " + example,
			Args: func(_ *cobra.Command, args []string) error {
				if len(args) != 1 {
					return usagef("say which: wheatear bench %s", use)
				}
				return nil
			},
			RunE: func(_ *cobra.Command, args []string) error {
				shelf, err := bench.Open()
				if err != nil {
					return err
				}
				return run(shelf, args[0])
			},
		}
	}
	use := sub("use NAME", "Choose the bench that commands use", "use kitchen-table-jig", func(shelf *bench.Shelf, name string) error {
		if err := shelf.Use(name); err != nil {
			return err
		}
		return a.showBench()
	})
	export := sub("export FILE", "Write the current bench as one file", "export kitchen.zip", func(shelf *bench.Shelf, file string) error {
		b, err := shelf.Current()
		if err != nil {
			return err
		}
		if err := writeFile(file, b.Export); err != nil {
			return err
		}
		a.say("Bench %s written to %s.", b.Name, file)
		return nil
	})
	carryIn := sub("import FILE", "Add a bench from a file that export wrote, and use it", "import kitchen.zip", func(shelf *bench.Shelf, file string) error {
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		name := orDefault(out, strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)))
		b, err := shelf.Import(text, name)
		if err != nil {
			return err
		}
		a.say("Bench %s added; its jig file is %s.", b.Name, b.Jig)
		return nil
	})
	carryIn.Flags().StringVar(&out, "name", "", "`NAME` of the bench (default that of the file)")
	cmd.AddCommand(use, export, carryIn)
	return cmd
}

// showBench shows the current bench and names the others.
func (a *app) showBench() error {
	shelf, err := bench.Open()
	if err != nil {
		return err
	}
	list, err := shelf.List()
	if err != nil {
		return err
	}
	current, jig, err := a.currentBench()
	if err != nil {
		a.complain(err)
	}
	if current == nil && err == nil {
		fmt.Fprintln(a.out, "No bench is remembered. wheatear setup makes one.")
	}
	if current != nil {
		if err := a.tellBench(a.out, current, jig); err != nil {
			return err
		}
	}
	var others []string
	for _, b := range list {
		if current == nil || b.Name != current.Name {
			others = append(others, b.Name)
		}
	}
	if len(others) > 0 {
		fmt.Fprintf(a.out, "\nOther benches: %s (wheatear bench use NAME)\n", strings.Join(others, ", "))
	}
	return nil
}

// mostCalibrations are listed at once.
const mostCalibrations = 8

func (a *app) tellBench(w io.Writer, b *bench.Bench, jig *fixture.Jig) error {
	reference := parts.FormatValue(jig.ReferenceOhm, parts.Ohm)
	fmt.Fprintf(w, "%s\n  jig file     %s\n  inputs       %s and %s, reference %s\n", b.Name, b.Jig, jig.Channels[0], jig.Channels[1], reference)
	if jig.Card.Backend != "" {
		fmt.Fprintf(w, "  card         %s at %g Hz\n", cardName(jig), jig.Card.RateHz)
	}
	switch v, err := readVerified(verifiedFile(b.Jig)); {
	case err != nil:
		fmt.Fprintf(w, "  verified     unreadable: %s\n", plain(err))
	case v == nil:
		fmt.Fprintln(w, "  verified     not yet (wheatear verify)")
	default:
		date, _ := time.Parse(time.RFC3339, v.Date) // it has been read
		fmt.Fprintf(w, "  verified     %s\n", a.ago(date))
	}
	list, err := b.Calibrations()
	if err != nil {
		return err
	}
	if len(list) == 0 {
		fmt.Fprintln(w, "  calibrations none yet (wheatear calibrate)")
	}
	for i, file := range list {
		if i == mostCalibrations {
			fmt.Fprintf(w, "               and %d earlier ones\n", len(list)-i)
			break
		}
		head := ""
		if i == 0 {
			head = "calibrations"
		}
		cal, err := readCalibration(file)
		text := ""
		if err != nil {
			text = filepath.Base(file) + " cannot be read: " + plain(err)
		} else {
			text = fmt.Sprintf("%s, %g Hz, %s", a.ago(cal.About.Date), cal.RateHz, span(cal))
			if why := unfit(cal, file, jig, frequencies{}); why != "" {
				text += "; does not fit: " + why
			}
		}
		fmt.Fprintf(w, "  %-12s %s\n", head, text)
	}
	return nil
}
