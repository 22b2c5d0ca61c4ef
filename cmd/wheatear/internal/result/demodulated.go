package result

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/uncertain"
)

// Analysed is the document of a recording that was analysed as a whole.
func Analysed(file string, a *record.Analysis) (*Demodulation, error) {
	d := &Demodulation{
		Schema: DemodulationSchema, File: file, RateHz: a.RateHz, Frames: int64(a.Frames), UsedS: [2]float64{float64(a.First) / a.RateHz, float64(a.End) / a.RateHz},
		Tones: []Tone{}, ClockPPM: orNull(a.ClockPPM), Mains: []MainsLine{}, Channels: channels(a.Peak, a.NoiseRMS, a.Offset), Findings: in(file, a.Findings),
	}
	if a.Mains.FreqHz != 0 {
		d.MainsHz = orNull(a.Mains.FreqHz)
	}
	for _, l := range a.Mains.Lines {
		d.Mains = append(d.Mains, MainsLine{l.Order, l.FreqHz, l.Amplitude})
	}
	for _, t := range a.Tones {
		tone, err := toneOf(t.NominalHz, t.FreqHz, t.FreqUHz, t.Phasors, t.Detected, t.Cov, t.Dof)
		if err != nil {
			return nil, err
		}
		for ch := range tone.Channels {
			c := &tone.Channels[ch]
			for k, h := range t.Harmonics[ch] {
				ratio := cmplx.Abs(h) / cmplx.Abs(t.Phasors[ch])
				if c.Detected && ratio != 0 && orNull(ratio) != nil { // 0: not fitted
					c.Harmonics = append(c.Harmonics, HarmonicRatio{k + 2, ratio})
				}
			}
		}
		d.Tones = append(d.Tones, tone)
	}
	return d, nil
}

// Tracked is the document of a recording that was followed from beginning to end.
func Tracked(file string, t *record.Track) (*Demodulation, error) {
	d := &Demodulation{
		Schema: DemodulationSchema, File: file, RateHz: t.RateHz, Frames: t.Frames, UsedS: [2]float64{0, float64(t.Frames) / t.RateHz},
		Tones: []Tone{}, ClockPPM: orNull(t.ClockPPM), Mains: []MainsLine{}, Channels: channels(t.Peak, t.NoiseRMS, t.Offset),
		SkippedS: float64(t.Skipped) * t.SegmentS, Findings: in(file, t.Findings()),
	}
	for i := range t.Tones {
		fit := &t.Tones[i]
		tone, err := toneOf(fit.NominalHz, fit.FreqHz, fit.FreqUHz, fit.Phasors, fit.Detected(), fit.Cov, fit.Dof)
		if err != nil {
			return nil, err
		}
		d.Tones = append(d.Tones, tone)
		if s := fit.PhaseStep; orNull(s.Size) != nil && orNull(s.RMS) != nil {
			d.Steps = append(d.Steps, PhaseStep{fit.NominalHz, s.Size, s.AtS, s.RMS})
		}
	}
	return d, nil
}

// in are findings that name their file.
func in(file string, list []finding.Finding) []finding.Finding {
	out := []finding.Finding{}
	for _, f := range list {
		f.File = file
		out = append(out, f)
	}
	return out
}

func channels(peak, noiseRMS, offset []float64) (list []ChannelFigures) {
	for i := range peak {
		list = append(list, ChannelFigures{i + 1, orNull(peak[i]), orNull(noiseRMS[i]), orNull(offset[i])})
	}
	return list
}

// toneOf gives each figure of a tone its uncertainty.
func toneOf(nominalHz, freqHz, freqUHz float64, phasors []complex128, there []bool, cov mat.Symmetric, dof float64) (Tone, error) {
	t := Tone{NominalHz: nominalHz, FreqHz: uncertain.NormalQuantity(freqHz, freqUHz, dof), Channels: []ToneInChannel{}}
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
		c := ToneInChannel{Channel: ch + 1, Detected: there[ch], InPhase: q(0), Quadrature: q(1), Amplitude: q(2), PhaseRad: q(3), Harmonics: []HarmonicRatio{}}
		if !c.Detected {
			c.PhaseRad = uncertain.Absent() // of nothing
		} else if relative := q(4); ch != first {
			c.Relative = &relative
		}
		t.Channels = append(t.Channels, c)
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
