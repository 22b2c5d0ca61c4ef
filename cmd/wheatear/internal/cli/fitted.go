package cli

import (
	"fmt"
	"os"

	"github.com/spf13/pflag"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/touchstone"
)

// fittedFlags say which sweep a circuit is fitted to, and what is drawn of it.
type fittedFlags struct {
	sweepFlags
	file string // Touchstone, to be read

	thorough bool // identify by a sweep
}

func newFittedFlags() fittedFlags {
	return fittedFlags{sweepFlags: sweepFlags{within: quantity{0, parts.Second, "S"}}}
}

func (f *fittedFlags) add(a *app, flags *pflag.FlagSet) {
	addJig(flags, &f.jig, &f.calibration)
	flags.StringVar(&f.at, "at", "", "frequencies (default all calibrated or recorded ones, or 20..20k/31)")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of the part; may be repeated")
	flags.StringVar(&f.file, "touchstone", "", "take the sweep from a Touchstone `FILE` of one port (.s1p) instead")
	flags.StringVar(&f.part, "part", "", "live: `NAME` of the part, for the names of recordings; the simulated jig puts it in")
	flags.Var(&f.to, "to", "live: wanted uncertainty of each point, such as 0.2%")
	flags.Var(&f.within, "within", "live: record for this long at the most")
	f.live.add(flags)
	a.addAround(flags)
	flags.StringVar(&f.plot, "plot", "", "draw |Z|, phase and residuals with the fit into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.plane, "plane", "", "draw them in the plane of complex numbers into `FILE`, .svg, .png, .pdf")
	flags.StringVar(&f.paper, "report", "", "write a report with all that it rests on to `FILE`, .html")
}

// check refuses what makes no sense together.
func (f *fittedFlags) check() error {
	for _, file := range []string{f.plot, f.plane} {
		if file == "" {
			continue
		}
		if _, err := plot.FormatOf(file); err != nil {
			return &statusError{Usage, err}
		}
	}
	isLive := f.live.given() || f.part != "" || f.to.value != 0 || f.within.value != 0
	switch {
	case f.file != "" && (f.jig != "" || f.calibration != "" || f.at != "" || len(f.recordings) > 0 || isLive):
		return usagef("--touchstone takes the sweep from %s; leave the jig, recordings and what is for live work out", f.file)
	case len(f.recordings) > 0 && isLive:
		return usagef("--part, --to, --within, --keep and --level are for playing and recording; leave them or --recording out")
	}
	return nil
}

// settle finds jig, calibration and frequencies where they are not named.
func (a *app) settle(f *fittedFlags) error {
	if err := a.takeBench(&f.jig, &f.calibration, asked(f.at), f.recordings); err != nil {
		return err
	}
	switch {
	case f.at == "" && (f.calibration != "" || len(f.recordings) > 0):
		f.at = "all"
	case f.at == "":
		f.at = "20..20k/31"
	}
	return f.readAt()
}

// swept reads the sweep, wherever it comes from.
func (a *app) swept(f fittedFlags) (*report.Swept, error) {
	if f.file != "" {
		return a.readTouchstone(f.file)
	}
	if err := a.settle(&f); err != nil {
		return nil, err
	}
	jig, err := readJig(f.jig)
	if err != nil {
		return nil, err
	}
	cal, err := readCalibration(f.calibration)
	if err != nil {
		return nil, err
	}
	read := a.togetherSweep
	if len(f.recordings) > 0 {
		read = a.recordedSweep
	}
	s, err := read(f.sweepFlags, jig, cal)
	if err != nil {
		return nil, err
	}
	for _, r := range s.Readings {
		if !r.Trusted {
			a.status.join(Untrusted)
		}
		s.AddFindings(r.Findings)
	}
	return report.NewSwept(s)
}

// readTouchstone takes the sweep from a file.
func (a *app) readTouchstone(name string) (*report.Swept, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	n, err := touchstone.Read(name, file)
	if err != nil {
		return nil, err
	}
	swept := report.SweptFrom(name, n)
	if len(swept.Data.FreqHz) < 2 {
		return nil, fmt.Errorf("%s: %d of %d points can be used, and one frequency is no sweep: an open, no impedance at all and direct current are left out",
			name, len(swept.Data.FreqHz), len(n.FreqHz))
	}
	return swept, nil
}

// notToBeTold is the exit status of an answer that cannot be given.
func (a *app) notToBeTold(is bool) {
	if is {
		a.status.join(Untrusted)
	}
}
