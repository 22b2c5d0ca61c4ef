package record

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/internal/joint"
)

// Fit fits the tones of cfg as [Analyze] does, without looking for trouble: there are no
// findings. Tones that were asked for and are not there are no error: they are fitted at
// their nominal frequencies, and not Detected; in digital silence their phasors are zero,
// with a covariance that is not a number. The error wraps [ErrSignal] or reports a
// setting that cannot be used.
func Fit(sig Signal, cfg Config) (*Analysis, error) {
	if err := sig.check(); err != nil {
		return nil, err
	}
	if err := cfg.check(sig); err != nil {
		return nil, err
	}
	an := newAnalyzer(sig, cfg)
	an.checkSamples()
	if an.span.end-an.span.first < minFrames {
		return nil, fmt.Errorf("%w: %d frames of finite samples in a row, at least %d are needed", ErrSignal, an.span.end-an.span.first, minFrames)
	}
	if an.anyAlive() {
		an.turnBack()
		if !an.findTones() || an.strayed() {
			an.askAll()
		}
		if len(an.tones) > 0 {
			if err := an.fit(); err != nil {
				return nil, err
			}
			an.judgeNoise()
			an.judgeLines()
			an.keepModel()
		}
	}
	if len(an.out.Tones) == 0 {
		an.out.First, an.out.End = an.span.first, an.span.end
		an.judgeSilence()
	}
	an.out.Findings = nil
	return an.out, nil
}

// strayed reports whether tones that were asked for were given up for one elsewhere.
func (an *analyzer) strayed() bool { return len(an.tones) < len(an.cfg.TonesHz) }

// askAll puts every tone that was asked for at its nominal frequency, on the whole
// stretch.
func (an *analyzer) askAll() {
	an.tones = nil
	for _, f := range an.cfg.TonesHz {
		an.tones = append(an.tones, located{nominalHz: f, foundHz: f})
	}
}

// holdClocks puts all tones that were asked for on one clock, or on that of the record,
// where the caller knows better.
func (an *analyzer) holdClocks(m *joint.Model) {
	if !an.cfg.Common && !an.cfg.Exact {
		return
	}
	for i, t := range an.tones {
		if t.origin == asked {
			m.Lines[i].Base, m.Lines[i].Clock = t.nominalHz, 0
		}
	}
	if an.cfg.Exact {
		m.FreeEps = false
		clear(m.Eps)
	}
}

// judgeSilence answers for a record without tones.
func (an *analyzer) judgeSilence() {
	channels := len(an.sig.Channels)
	for ch, x := range an.used().Channels {
		sum, square := 0.0, 0.0
		for _, v := range x {
			sum, square = sum+v, square+v*v
		}
		n := float64(len(x))
		an.out.Offset[ch] = sum / n
		an.out.NoiseRMS[ch] = math.Sqrt(math.Max(0, square/n-an.out.Offset[ch]*an.out.Offset[ch]))
	}
	for _, f := range an.cfg.TonesHz {
		an.out.Tones = append(an.out.Tones, silentTone(f, channels, an.cfg.MaxHarmonic))
	}
}

// Model writes what the fit says a channel holds from frame first on: tones, harmonics,
// hum, offset and drift; the record less the model is the residual. Frames count from the
// beginning of the record; outside of First to End the model goes on as it is inside. Where
// nothing was fitted it is the offset. It panics where there is no such channel.
func (a *Analysis) Model(dst []float64, channel, first int) {
	for i := range dst {
		dst[i] = 0
	}
	if a.model == nil {
		for i := range dst {
			dst[i] = a.Offset[channel]
		}
		return
	}
	a.model.AddTo(dst, channel, first-a.modelFirst)
}

// keepModel keeps what the fit says of the record as it came.
func (an *analyzer) keepModel() {
	h := an
	if an.around != nil {
		h = an.around
	}
	an.out.model, an.out.modelFirst = h.joint, h.span.first
	an.out.model.Residual = nil
}
