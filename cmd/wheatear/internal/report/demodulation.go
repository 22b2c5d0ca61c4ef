package report

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/uncertain"
)

// Demodulation is what demodulate has to tell of a recording.
type Demodulation struct {
	File           string
	RateHz         float64
	Frames         int64
	FromS, ToS     float64 // the part used
	Tones          []Tone
	ClockPPM       float64 // NaN where there is nothing to compare with
	MainsHz        float64 // 0 where none was found
	Lines          []record.LineFit
	Channels       []ChannelFigures
	PhaseSteps     []record.TrackStep // of a recording that was followed, per tone
	Findings       []finding.Finding
	skippedSeconds float64
}

// Tone is one tone of a recording.
type Tone struct {
	NominalHz float64
	FreqHz    uncertain.Quantity
	Channels  []ToneInChannel
}

// ToneInChannel is a tone in one channel; amplitudes are peak re full scale.
type ToneInChannel struct {
	Detected            bool
	InPhase, Quadrature uncertain.Quantity
	Amplitude, PhaseRad uncertain.Quantity
	RelativeRad         uncertain.Quantity // to the first channel that has the tone
	Harmonics           []float64          // ratio to the fundamental, from the second on
}

// ChannelFigures is what a channel holds beside the tones, re full scale.
type ChannelFigures struct{ Peak, NoiseRMS, Offset float64 }

// Analysed tells of a recording that was analysed as a whole.
func Analysed(file string, a *record.Analysis) (*Demodulation, error) {
	d := &Demodulation{
		File: file, RateHz: a.RateHz, Frames: int64(a.Frames), FromS: float64(a.First) / a.RateHz, ToS: float64(a.End) / a.RateHz,
		ClockPPM: a.ClockPPM, MainsHz: a.Mains.FreqHz, Lines: a.Mains.Lines,
	}
	for _, f := range a.Findings {
		f.File = file
		d.Findings = append(d.Findings, f)
	}
	for i := range a.Peak {
		d.Channels = append(d.Channels, ChannelFigures{a.Peak[i], a.NoiseRMS[i], a.Offset[i]})
	}
	for _, t := range a.Tones {
		tone, err := toneOf(t.NominalHz, t.FreqHz, t.FreqUHz, t.Phasors, t.Detected, t.Cov, t.Dof)
		if err != nil {
			return nil, err
		}
		for ch := range tone.Channels {
			c := &tone.Channels[ch]
			for _, h := range t.Harmonics[ch] {
				if c.Detected {
					c.Harmonics = append(c.Harmonics, cmplx.Abs(h)/cmplx.Abs(t.Phasors[ch]))
				}
			}
		}
		d.Tones = append(d.Tones, tone)
	}
	return d, nil
}

// Tracked tells of a recording that was followed from beginning to end.
func Tracked(file string, t *record.Track) (*Demodulation, error) {
	d := &Demodulation{
		File: file, RateHz: t.RateHz, Frames: t.Frames, ToS: float64(t.Frames) / t.RateHz,
		ClockPPM: t.ClockPPM, skippedSeconds: float64(t.Skipped) * t.SegmentS,
	}
	for _, f := range t.Findings() {
		f.File = file
		d.Findings = append(d.Findings, f)
	}
	for i := range t.Peak {
		d.Channels = append(d.Channels, ChannelFigures{t.Peak[i], t.NoiseRMS[i], t.Offset[i]})
	}
	for i := range t.Tones {
		fit := &t.Tones[i]
		tone, err := toneOf(fit.NominalHz, fit.FreqHz, fit.FreqUHz, fit.Phasors, fit.Detected(), fit.Cov, fit.Dof)
		if err != nil {
			return nil, err
		}
		d.Tones = append(d.Tones, tone)
		d.PhaseSteps = append(d.PhaseSteps, fit.PhaseStep)
	}
	return d, nil
}

// toneOf gives each figure of a tone its uncertainty.
func toneOf(nominalHz, freqHz, freqUHz float64, phasors []complex128, there []bool, cov mat.Symmetric, dof float64) (Tone, error) {
	t := Tone{NominalHz: nominalHz, FreqHz: uncertain.NormalQuantity(freqHz, freqUHz, dof)}
	var flat []float64
	for _, p := range phasors {
		flat = append(flat, real(p), imag(p))
	}
	first := max(0, slices.Index(there, true))
	const each = 5
	var in uncertain.Inputs
	in.AddJoint("noise", flat, cov, dof)
	result, err := uncertain.Propagate(&in, each*len(phasors), func(dst, x []float64) {
		for ch, estimate := range phasors {
			p, reference := complex(x[2*ch], x[2*ch+1]), complex(x[2*first], x[2*first+1])
			relative := estimate * cmplx.Conj(phasors[first])
			copy(dst[each*ch:], []float64{real(p), imag(p), cmplx.Abs(p), near(p, estimate), near(p*cmplx.Conj(reference), relative)})
		}
	})
	if err != nil {
		return t, err
	}
	for ch := range phasors {
		q := func(i int) uncertain.Quantity { return result.Quantity(each*ch + i) }
		t.Channels = append(t.Channels, ToneInChannel{Detected: there[ch], InPhase: q(0), Quadrature: q(1), Amplitude: q(2), PhaseRad: q(3), RelativeRad: q(4)})
	}
	return t, nil
}

// near is the phase of z, without a jump near that of the estimate.
func near(z, estimate complex128) float64 {
	if estimate == 0 {
		return math.NaN()
	}
	return cmplx.Phase(estimate) + cmplx.Phase(z*cmplx.Conj(estimate))
}
