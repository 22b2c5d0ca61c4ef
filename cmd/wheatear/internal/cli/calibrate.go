package cli

import (
	"io"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// calibrateFlags is what the command calibrate can be told.
type calibrateFlags struct {
	jig   string
	at    frequencies
	open  []string
	short []string
	loads loads
	out   string
	json  bool
	live  liveFlags
}

func newCalibrate(a *app) *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use:   "calibrate --at LIST",
		Short: "Find out what a jig does, with standards",
		Long: `Calibrate finds out what leads, inputs and card do to a reading, with the
terminals open, shorted, and on resistors of known value. Any of them may be
left out: the correction then uses what it has, and the uncertainty says so.

Without recordings it plays and records through the card of the jig file, and
asks for each standard in turn. Answers may be piped in, a line each; the
simulated jig puts the standards in by itself. A standard that cannot be what it
claims to be is refused and asked for again.

Each recording may be repeated: several files with the same tone are repeats,
several with different tones a stepped series, in which each file serves the
tone that it holds. Loads of equal value and tolerance are one resistor.

A standard that cannot be what it claims to be, or a spoilt recording, gives
exit status 3, and nothing is written.

JSON: {"schema": "wheatear.calibrate/1", "frequencies_hz": [...], "findings":
[...]}; the findings are as those of measure.`,
		Example: `  wheatear calibrate --jig bench.toml --at 1k,10k --load 1k/0.1% --out live.json
  wheatear calibrate --jig jig.toml --at 1k --open open.wav --short short.wav \
      --load 1k/0.1%=load.wav --out cal.json`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.calibrate(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.jig, "jig", "", "jig `FILE` (default that of the current bench)")
	flags.Var(&f.at, "at", "frequencies: 1k  100,1k,10k  ~1k  20..20k/31  all")
	flags.StringArrayVar(&f.open, "open", nil, "recording `FILE` with nothing connected; may be repeated")
	flags.StringArrayVar(&f.short, "short", nil, "recording `FILE` with the terminals joined; may be repeated")
	flags.Var(&f.loads, "load", "value and tolerance of a known resistor, and its recording if there is one: 1k/0.1%=load.wav; may be repeated")
	flags.StringVar(&f.out, "out", "", "calibration `FILE` to write (default: kept with the bench)")
	f.live.add(flags)
	flags.BoolVar(&f.json, "json", false, "print the outcome as JSON")
	return cmd
}

func (a *app) calibrate(f calibrateFlags) error {
	if len(f.at.requests) == 0 {
		return usagef("at which frequencies? Add --at, such as --at 1k")
	}
	if err := a.takeJig(&f.jig); err != nil {
		return err
	}
	if f.out == "" && f.jig != "" {
		if b, err := keepWith(f.jig); err != nil || b == nil {
			return usagef("where to? Add --out FILE, such as --out cal.json; a jig that setup has written keeps its calibrations by itself")
		}
	}
	jig, err := readJig(f.jig)
	if err != nil {
		return err
	}
	someLoads, allLoads := f.loads.recorded()
	if len(f.open)+len(f.short) == 0 && !someLoads {
		return a.calibrateLive(f, jig)
	}
	if !allLoads {
		return usagef("a load without its recording, among standards that have theirs: write it as 1k/0.1%%=load.wav")
	}
	if f.live.given() {
		return usagef("--keep and --level are for playing and recording, but there are recordings already")
	}
	connections := a.standards(f, jig)
	outcome, err := a.solve(f, jig, connections)
	if err != nil {
		return err
	}
	return a.concludeCalibration(f, outcome)
}

// standards gathers the recordings of each standard.
func (a *app) standards(f calibrateFlags, jig *fixture.Jig) []connection {
	var out []connection
	if len(f.open) > 0 {
		out = append(out, connection{role: fixture.Open, sources: a.tapes(f.open, jig)})
	}
	if len(f.short) > 0 {
		out = append(out, connection{role: fixture.Short, sources: a.tapes(f.short, jig)})
	}
	place := map[fixture.Load]int{}
	for _, l := range f.loads.files {
		i, seen := place[l.load]
		if !seen {
			i, place[l.load] = len(out), len(out)
			out = append(out, connection{role: fixture.LoadRole, load: &l.load})
		}
		out[i].sources = append(out[i].sources, a.tapes([]string{l.file}, jig)...)
	}
	return out
}

// tapes are files that hold the inputs of the jig.
func (a *app) tapes(files []string, jig *fixture.Jig) []source {
	var out []source
	for _, file := range files {
		out = append(out, &tape{app: a, file: file, channels: jig.Inputs[:]})
	}
	return out
}

// outcome is what a calibration came to; calibration is nil where a finding
// forbids one.
type outcome struct {
	calibration *fixture.Calibration
	findings    []finding.Finding
}

func (a *app) solve(f calibrateFlags, jig *fixture.Jig, connections []connection) (*outcome, error) {
	var all []source
	for _, c := range connections {
		all = append(all, c.sources...)
	}
	freqs, err := tones(f.at, all, jig.MainsHz, nil)
	if err != nil {
		return nil, err
	}
	out := &outcome{}
	var observations []fixture.Observation
	for _, c := range connections {
		h, err := c.hear(freqs, jig.MainsHz)
		if err != nil {
			return nil, err
		}
		if len(h.missing) > 0 {
			return nil, c.missed(h.missing)
		}
		out.findings = append(out.findings, h.silent...)
		observations = append(observations, h.observations...)
	}
	if finding.Worst(out.findings) == finding.Invalid {
		return out, nil
	}
	cal, findings, err := live.Calibrate(jig, observations, freqs, fixture.About{Date: a.now()})
	if err != nil {
		return nil, err
	}
	out.findings = append(out.findings, findings...)
	if finding.Worst(out.findings) != finding.Invalid {
		out.calibration = cal
	}
	return out, nil
}

// concludeCalibration writes the file, if there is something to write, and tells.
func (a *app) concludeCalibration(f calibrateFlags, o *outcome) error {
	if o.calibration == nil {
		a.status.join(Untrusted)
		a.say("Not calibrated: nothing was written.")
	} else if err := a.keepCalibration(&f, o.calibration); err != nil {
		return err
	}
	doc := result.NewCalibration(o.calibration, o.findings)
	if o.calibration != nil {
		defer a.enter(entered{jig: f.jig, calibration: f.out, cal: o.calibration}, func(w io.Writer) error { return result.Write(w, doc) })
	}
	return a.show(doc, tell.Calibration(doc), f.json, false)
}

// keepCalibration writes it to the file of --out, or keeps it with the bench of the jig.
func (a *app) keepCalibration(f *calibrateFlags, cal *fixture.Calibration) error {
	if f.out != "" {
		err := writeCalibration(f.out, cal)
		if err == nil {
			a.say("Written to %s.", f.out)
		}
		return err
	}
	b, err := keepWith(f.jig)
	if err != nil {
		return err
	}
	if b == nil {
		return usagef("where to? Add --out FILE, such as --out cal.json")
	}
	text, err := cal.Encode()
	if err != nil {
		return err
	}
	if f.out, err = b.Keep(text, a.now()); err == nil {
		a.say("Kept with bench %s; live commands without --calibration use it.", b.Name)
		if list, err := b.Calibrations(); err == nil && len(list) == 1 {
			a.say("Next, with a part in the jig: wheatear measure, or wheatear identify; of the simulated jig with --part NAME.")
		}
	}
	return err
}

func writeCalibration(file string, cal *fixture.Calibration) error {
	data, err := cal.Encode()
	if err != nil {
		return err
	}
	return writeFile(file, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}
