package cli

import (
	"fmt"
	"slices"
	"strings"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
)

// connection is what was connected, and the recordings made meanwhile. Several
// are repeats, or steps of a series.
type connection struct {
	role    fixture.Role
	load    *fixture.Load
	sources []source
}

// name says what was connected.
func (c connection) name() string {
	if c.load != nil {
		return "the load " + c.load.String()
	}
	return "the " + string(c.role)
}

// heard is what the recordings of one connection hold.
type heard struct {
	observations []fixture.Observation
	silent       []finding.Finding // of a recording that has none of a tone
	missing      []float64         // tones that none of several recordings has
}

// hear analyses the recordings of a connection. A recording that cannot be read
// is an error; one without the tone is not, see heard.
func (c connection) hear(freqsHz []float64, mainsHz float64) (*heard, error) {
	h := &heard{}
	cfg := record.Config{TonesHz: freqsHz, MainsHz: mainsHz, Stepped: len(c.sources) > 1}
	for _, t := range c.sources {
		analysis, err := analyse(t, cfg)
		if err != nil {
			return nil, err
		}
		h.observations = append(h.observations, fixture.Observation{Role: c.role, Load: c.load, File: t.name(), Analysis: analysis})
	}
	c.sift(h, freqsHz, cfg.Stepped)
	return h, nil
}

// sift finds the tones that are not there.
func (c connection) sift(h *heard, freqsHz []float64, stepped bool) {
	for _, f := range freqsHz {
		switch {
		case h.holds(f):
		case stepped:
			h.missing = append(h.missing, f)
		default:
			h.silent = append(h.silent, c.silence(h.observations[0], f)...)
		}
	}
}

// holds reports whether some recording has the tone.
func (h *heard) holds(freqHz float64) bool {
	return slices.ContainsFunc(h.observations, func(o fixture.Observation) bool {
		t := o.Analysis.Tone(freqHz)
		return t != nil && t.NominalHz == freqHz
	})
}

// silence is what the analysis of a single recording says of a tone that it does
// not have.
func (c connection) silence(o fixture.Observation, freqHz float64) []finding.Finding {
	var out []finding.Finding
	for _, f := range o.Analysis.Findings {
		if f.Touches(freqHz) {
			f.File = o.File
			out = append(out, f)
		}
	}
	if finding.Worst(out) == finding.Invalid {
		return out
	}
	return append(out, finding.Finding{
		Code: finding.NoSignal, Severity: finding.Invalid, File: o.File, FreqHz: freqHz,
		Detail: fmt.Sprintf("no tone at %g Hz", freqHz),
		Advice: "name the frequency that was played, or record it anew",
	})
}

// missed is the error about tones that none of several recordings has.
func (c connection) missed(freqsHz []float64) error {
	var list []string
	for _, f := range freqsHz {
		list = append(list, fmt.Sprintf("%g Hz", f))
	}
	return fmt.Errorf("none of the %d recordings of %s holds %s", len(c.sources), c.name(), strings.Join(list, ", "))
}

// idle names the recordings that hold none of the tones.
func (h *heard) idle() []string {
	var out []string
	for _, o := range h.observations {
		if len(o.Analysis.Tones) == 0 {
			out = append(out, o.File)
		}
	}
	return out
}
