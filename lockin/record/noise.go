package record

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/trouble"
	"gonum.org/v1/gonum/mat"
)

// sideBins is how many bins of the residual beside a tone its noise is taken from.
const sideBins = 16

// judgeNoise turns the fit into tones with covariances.
func (an *analyzer) judgeNoise() {
	f := an.joint
	an.avoid = an.modelledHz()
	for ch, r := range f.Residual {
		an.out.NoiseRMS[ch] = math.Sqrt(num.MeanSquare(r) * float64(f.Frames) / float64(f.Frames-an.filled()))
		an.out.Offset[ch] = f.Poly[ch][0]
	}
	for i, t := range an.tones {
		if t.origin != beside {
			an.out.Tones = append(an.out.Tones, an.toneFit(i, an.epsU(an.lineFor(i).Clock)))
		}
	}
	an.out.First, an.out.End = an.span.first, an.span.end
	an.judgeClocks()
	an.fillMains()
}

// lineFor returns the line of tone i itself.
func (an *analyzer) lineFor(i int) joint.Line { return an.joint.Model.Lines[an.lineOf(i, 1)] }

// epsU returns the standard uncertainty of the ε of a clock, from the noise beside its
// tones: each brings rate²·|A|²/2·Σt² over its own noise.
func (an *analyzer) epsU(clock int) float64 {
	f := an.joint
	information := 0.0
	seconds := an.seconds()
	for l, ln := range f.Model.Lines {
		if ln.Mains || ln.Order != 1 || ln.Clock != clock {
			continue
		}
		s, _ := an.sideNoise(f.Model.FreqHz(ln))
		for ch := range f.Amp {
			if v := an.atLeastQuantum(real(s[ch][ch]), ch, ln); v > 0 {
				information += num.SqAbs(f.Amp[ch][l]) / v * num.Sq(2*math.Pi*ln.Base*seconds) / 6
			}
		}
	}
	return math.Max(1/math.Sqrt(information), an.epsUAround(clock))
}

// epsUAround is that of the fit around a turn, in which the frequency of a tone and the
// drift of the hum under it look much alike; 0 where there is none.
func (an *analyzer) epsUAround(clock int) float64 {
	h, u := an.around, 0.0
	if h == nil {
		return 0
	}
	m := an.joint.Model
	for _, ln := range m.Lines {
		if ln.Clock != clock || ln.Order != 1 {
			continue
		}
		if l, _ := h.lineUnder(m.FreqHz(ln)); l >= 0 {
			s, _ := h.sideNoise(h.joint.Model.FreqHz(h.joint.Model.Lines[l]))
			for ch := range s {
				variance := real(s[ch][ch]) * float64(h.joint.Used()) / 4 // of a sample
				u = math.Max(u, math.Sqrt(h.joint.EpsVar[h.joint.Model.Lines[l].Clock]*variance))
			}
		}
	}
	return u
}

// toneFit gathers what the fit says of tone i.
func (an *analyzer) toneFit(i int, epsU float64) ToneFit {
	f, channels := an.joint, len(an.joint.Amp)
	ln := f.Model.Lines[an.lineOf(i, 1)]
	hz := f.Model.FreqHz(ln)
	t := ToneFit{NominalHz: an.tones[i].nominalHz, FreqHz: hz, FreqUHz: hz * epsU,
		Phasors: make([]complex128, channels), LineU: make([]float64, channels),
		Harmonics: make([][]complex128, channels), HarmonicU: make([]float64, channels), Detected: make([]bool, channels)}
	s, used := an.sideNoise(hz)
	t.Dof = math.Max(2, 2*float64(used))
	scale := float64(smoothLength(f.Frames)) / float64(f.Frames) * math.Max(1, f.Shrinkage[an.lineOf(i, 1)])
	t.Cov = mat.NewSymDense(2*channels, nil)
	for a := range s {
		s[a][a] = complex(an.atLeastQuantum(real(s[a][a]), a, ln), 0)
		t.Phasors[a] = f.Amp[a][an.lineOf(i, 1)]
		t.Detected[a] = num.SqAbs(t.Phasors[a]) > detectOver(used)*real(s[a][a])
		for b := a; b < len(s); b++ {
			setCircular(t.Cov, a, b, s[a][b]*complex(scale/2, 0))
		}
	}
	for ch, p := range t.Phasors {
		t.RoundU = append(t.RoundU, an.roundU(ch, cmplx.Abs(p)))
	}
	an.fillHarmonics(i, &t)
	return t
}

// fillHarmonics gathers the harmonics of tone i and their noise.
func (an *analyzer) fillHarmonics(i int, t *ToneFit) {
	f, count := an.joint, max(0, an.cfg.MaxHarmonic-1)
	t.HarmonicCov = make([]*mat.SymDense, count)
	for ch := range t.Harmonics {
		t.Harmonics[ch] = make([]complex128, count)
	}
	for k := range count {
		l := an.lineOf(i, k+2)
		if l < 0 {
			continue
		}
		ln := f.Model.Lines[l]
		s, _ := an.sideNoise(f.Model.FreqHz(ln))
		scale := float64(smoothLength(f.Frames)) / float64(f.Frames) * math.Max(1, f.Shrinkage[l])
		cov := mat.NewSymDense(2*len(s), nil)
		for a := range s {
			s[a][a] = complex(an.atLeastQuantum(real(s[a][a]), a, ln), 0)
			t.Harmonics[a][k] = f.Amp[a][l]
			t.HarmonicU[a] = math.Max(t.HarmonicU[a], math.Sqrt(real(s[a][a])/2))
			for b := a; b < len(s); b++ {
				setCircular(cov, a, b, s[a][b]*complex(scale/2, 0))
			}
		}
		t.HarmonicCov[k] = cov
	}
}

// setCircular sets the covariance of two complex values of circular noise from half
// of E[e_a conj(e_b)].
func setCircular(cov *mat.SymDense, a, b int, half complex128) {
	cov.SetSym(2*a, 2*b, real(half))
	cov.SetSym(2*a+1, 2*b+1, real(half))
	if a != b {
		cov.SetSym(2*a, 2*b+1, -imag(half))
		cov.SetSym(2*a+1, 2*b, imag(half))
	}
}

// lineOf returns the index of the given order of tone i in the model, -1 if absent.
func (an *analyzer) lineOf(i, order int) int {
	for l, ln := range an.joint.Model.Lines {
		if !ln.Mains && ln.Tone == i && ln.Order == order {
			return l
		}
	}
	return -1
}

// detectOver is how far the power of a tone must exceed the mean of m side bins:
// the 10⁻⁴ quantile of F(2, 2m), which is m((10⁴)^(1/m) - 1) exactly.
func detectOver(m int) float64 {
	if m == 0 {
		return math.Inf(1)
	}
	return float64(m) * (math.Pow(1e4, 1/float64(m)) - 1)
}

// floatFloor is what summing a record in double precision leaves, re its peak.
const floatFloor = 1e-13

// atLeastQuantum keeps the noise of a phasor from falling below what rounding to the
// grid of the samples does. Where a record has no noise to speak of, the rounding
// error repeats with the period of the tone, and no side bin shows it.
func (an *analyzer) atLeastQuantum(noise float64, ch int, ln joint.Line) float64 {
	step := an.grid[ch]
	if step == 0 {
		return math.Max(noise, num.Sq(floatFloor*an.out.Peak[ch]))
	}
	n := float64(an.joint.Frames)
	if an.out.NoiseRMS[ch] < step/2 {
		n = math.Min(n, periodFrames(an.joint.Model.FreqHz(ln)/an.sig.RateHz, 4096))
	}
	return math.Max(noise, 4*step*step/12/n)
}

// periodFrames returns the shortest whole number of samples, up to most, after which
// a tone of the given turns per sample repeats; most where there is none.
func periodFrames(turns float64, most int) float64 {
	for p := 1; p < most; p++ {
		if x := turns * float64(p); math.Abs(x-math.Round(x)) < 1e-7*float64(p) {
			return float64(p)
		}
	}
	return float64(most)
}

// ratioU returns the relative standard uncertainty of the ratio of two phasors from
// the noise of a tone fit.
func (t *ToneFit) ratioU() float64 {
	if len(t.Phasors) < 2 || t.Phasors[0] == 0 || t.Phasors[1] == 0 {
		return math.Inf(1)
	}
	c := complex(t.Cov.At(0, 2)+t.Cov.At(1, 3), t.Cov.At(1, 2)-t.Cov.At(0, 3))
	cross := real(c / (t.Phasors[0] * cmplx.Conj(t.Phasors[1])))
	v := t.Cov.At(0, 0)/num.SqAbs(t.Phasors[0]) + t.Cov.At(2, 2)/num.SqAbs(t.Phasors[1]) - cross
	return math.Sqrt(math.Max(v, 0))
}

// fillMains reports the mains lines of the fit.
func (an *analyzer) fillMains() {
	f := an.joint
	if !an.hum.present {
		return
	}
	an.out.Mains.FreqHz = f.Model.MainsHz
	information := 0.0
	for l, ln := range f.Model.Lines {
		if !ln.Mains {
			continue
		}
		fit := LineFit{Order: ln.Order, FreqHz: f.Model.FreqHz(ln)}
		s, used := an.sideNoise(fit.FreqHz)
		for ch := range f.Amp {
			fit.Amplitude = append(fit.Amplitude, cmplx.Abs(f.Amp[ch][l]))
			fit.Phasors = append(fit.Phasors, f.Amp[ch][l])
			fit.Detected = append(fit.Detected, num.SqAbs(f.Amp[ch][l]) > detectOver(used)*real(s[ch][ch]))
			if v := real(s[ch][ch]); v > 0 {
				information += num.SqAbs(f.Amp[ch][l]) / v * num.Sq(2*math.Pi*ln.Base*an.seconds()) / 6
			}
		}
		an.out.Mains.Lines = append(an.out.Mains.Lines, fit)
	}
	an.out.Mains.FreqUHz = 1 / math.Sqrt(information)
}

// radius95 is that of a circle around the mean of a plane normal distribution that holds
// 95 %, in standard deviations of an axis: √(−2 ln 0.05).
const radius95 = 2.4477

// roundU is the standard uncertainty per axis that rounding leaves a tone of amplitude a
// in a channel. What it leaves to noise is in its residual: q²/12, and a little more.
func (an *analyzer) roundU(ch int, a float64) float64 {
	q := an.grid[ch]
	sigma := math.Sqrt(math.Max(0, num.Sq(an.out.NoiseRMS[ch])-1.3*q*q/12))
	return trouble.RoundingBias(q, a, sigma) / radius95
}
