package cli

import (
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin"
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
	budget      bool
	explain     bool
	json        bool
}

func newMeasure(a *app) *cobra.Command {
	var f measureFlags
	cmd := &cobra.Command{
		Use:   "measure --jig FILE --at LIST --recording FILE",
		Short: "Read the impedance of a part from its recordings",
		Long: `Measure reads the impedance of a part from recordings of the two inputs, and
what follows from it: R, C, L, Q, D, each with its uncertainty. Without a
calibration the uncertainty covers what is not known of reference, inputs and
leads.

--recording may be repeated: several files with the same tone are repeats,
several with different tones a stepped series. --recording - reads standard
input. --at all takes the tones found in the recordings.

What a finding calls invalid is not to be trusted: such a reading has no
figures, but the reason and what to do, and the exit status is 3.

--budget tells what the uncertainty is made of, --explain the whole way from the
recording to the reading.

JSON: {"schema": "wheatear.measure/1", "jig", "calibration", "readings": [...],
"findings": [...]}, in SI units; every quantity is {"value", "u", "low", "high"}
with its standard uncertainty and 95 % interval, null where there is none. With
--budget each reading also has "budget": {"re_ohm": [{"source", "u", "share"}],
"im_ohm": [...]}.`,
		Example: `  wheatear measure --jig jig.toml --calibration cal.json --at 1k \
      --recording part.wav`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.measure(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.jig, "jig", "", "jig `FILE`")
	flags.StringVar(&f.calibration, "calibration", "", "calibration `FILE` as calibrate writes it")
	flags.Var(&f.at, "at", "frequencies: 1k  100,1k,10k  ~1k  20..20k/31  all")
	flags.StringArrayVar(&f.recordings, "recording", nil, "recording `FILE` of the part; may be repeated")
	flags.BoolVar(&f.budget, "budget", false, "tell what the uncertainty is made of")
	flags.BoolVar(&f.explain, "explain", false, "tell how the reading came about")
	flags.BoolVar(&f.json, "json", false, "print the readings as JSON")
	return cmd
}

func (a *app) measure(f measureFlags) error {
	if len(f.at.requests) == 0 {
		return usagef("at which frequencies? Add --at, such as --at 1k, or --at all for the tones in the recording")
	}
	if f.explain && f.json {
		return usagef("--explain is for people and --json for programs; leave one out")
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
		return errLive
	}
	part := connection{role: fixture.PartRole, sources: a.tapes(f.recordings, jig)}
	m := &report.Measurement{Jig: jig, Calibration: f.calibration, Cal: cal, Files: part.names(), Budget: f.budget, Explain: f.explain}
	if err := a.readPart(m, part, f.at); err != nil {
		return err
	}
	return a.concludeMeasurement(m, f.json)
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
		return r, nil
	}
	opt := fixture.Options{}
	if m.Cal != nil && !m.Cal.About.Date.IsZero() {
		opt.Age = a.now().Sub(m.Cal.About.Date)
	}
	corrected, err := fixture.Measure(m.Jig, m.Cal, r.Observations, freqHz, opt)
	if err != nil {
		return nil, err
	}
	r.Corrected = corrected
	if (m.Budget || m.Explain) && corrected.Trusted {
		r.Result, err = corrected.Propagate()
	}
	return r, err
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
func unheard(freqHz float64, silent []lockin.Finding) *fixture.Corrected {
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
func (a *app) concludeMeasurement(m *report.Measurement, asJSON bool) error {
	for _, r := range m.Readings {
		if !r.Trusted {
			a.status.join(Untrusted)
		}
		m.AddFindings(r.Findings)
	}
	if asJSON {
		return report.MeasureJSON(a.out, m)
	}
	return report.Measure(a.out, m)
}
