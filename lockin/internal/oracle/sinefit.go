package oracle

import (
	"errors"
	"fmt"
	"math"

	"example.org/wheatear/lockin/internal/phase"
	"gonum.org/v1/gonum/mat"
)

// ErrFit is wrapped by errors about sine fits that cannot be made.
var ErrFit = errors.New("lockin: cannot fit a sine")

// SineFit is a sine fitted to samples, as by IEEE Std 1057:
//
//	y[n] ≈ Cos·cos(2πf·n/rate) + Sin·sin(2πf·n/rate) + Offset
type SineFit struct {
	FreqHz      float64
	Cos, Sin    float64
	Offset      float64
	RMSResidual float64 // √(Σr²/N)
	Iterates    []SineStep
}

// SineStep is one iterate of a four-parameter fit.
type SineStep struct {
	FreqHz, Cos, Sin, Offset float64
}

// Amplitude returns the peak amplitude √(Cos² + Sin²).
func (f SineFit) Amplitude() float64 { return math.Hypot(f.Cos, f.Sin) }

// PhaseRad returns φ of Amplitude·cos(2πf·n/rate + φ), in (−π, π].
func (f SineFit) PhaseRad() float64 { return math.Atan2(-f.Sin, f.Cos) }

// SINADdB returns the ratio of signal to noise and distortion in decibels of
// power, 10·log10((Amplitude²/2)/RMSResidual²); +Inf without a residual.
func (f SineFit) SINADdB() float64 {
	return 20 * math.Log10(f.Amplitude()/(math.Sqrt2*f.RMSResidual))
}

// SineFit3 fits amplitude, phase and offset at a known frequency: least squares by
// orthogonal factorisation of the columns cos, sin, 1. It needs at least four
// samples, all finite, and a frequency above 0 and below half the rate; the error
// wraps [ErrFit], also where the samples span so little of a cycle that the three
// cannot be told apart. Source: IEEE Std 1057-2017, three-parameter sine fit.
func SineFit3(y []float64, freqHz, rateHz float64) (SineFit, error) {
	if err := checkSine(y, freqHz, rateHz, 4); err != nil {
		return SineFit{}, err
	}
	fit, _, err := solveSine(y, freqHz, rateHz, nil)
	return fit, err
}

const (
	sineIterations = 30
	// sineSettled ends the iteration: the next step would be the square of this.
	sineSettled = 1e-12
	// sineCondition leaves four digits of a float64.
	sineCondition = 1e12
)

// SineFit4 fits the frequency too, from a start within half a bin of the truth,
// |Δf| < rate/(2N): each step adds to the columns that of the derivative in
// frequency, and moves the frequency by what it gets. Iterates holds the start,
// fitted with three parameters, and each step. It needs at least five samples; the
// error wraps [ErrFit] where the iteration leaves the start by more than a bin and
// a half, ends outside 0 to half the rate, or does not settle. Source: IEEE Std
// 1057-2017, four-parameter sine fit.
func SineFit4(y []float64, startHz, rateHz float64) (SineFit, error) {
	if err := checkSine(y, startHz, rateHz, 5); err != nil {
		return SineFit{}, err
	}
	fit, _, err := solveSine(y, startHz, rateHz, nil)
	if err != nil {
		return SineFit{}, err
	}
	steps := []SineStep{fit.step()}
	bin := rateHz / float64(len(y))
	for range sineIterations {
		next, move, err := solveSine(y, fit.FreqHz, rateHz, &fit)
		if err != nil {
			return SineFit{}, err
		}
		next.FreqHz = fit.FreqHz + move
		if !(next.FreqHz > 0 && next.FreqHz < rateHz/2) || math.Abs(next.FreqHz-startHz) > 1.5*bin {
			return SineFit{}, fmt.Errorf("%w: from %g Hz it runs away to %g Hz; start within %g Hz", ErrFit, startHz, next.FreqHz, bin/2)
		}
		fit = next
		steps = append(steps, fit.step())
		if math.Abs(move) <= sineSettled*fit.FreqHz {
			return finishSine(y, fit, rateHz, steps)
		}
	}
	return SineFit{}, fmt.Errorf("%w: from %g Hz it does not settle in %d steps; start within %g Hz", ErrFit, startHz, sineIterations, bin/2)
}

// finishSine fits once more at the final frequency, so that coefficients and
// residual belong to it.
func finishSine(y []float64, fit SineFit, rateHz float64, steps []SineStep) (SineFit, error) {
	last, _, err := solveSine(y, fit.FreqHz, rateHz, nil)
	last.Iterates = steps
	return last, err
}

func (f SineFit) step() SineStep { return SineStep{f.FreqHz, f.Cos, f.Sin, f.Offset} }

func checkSine(y []float64, freqHz, rateHz float64, least int) error {
	if err := phase.CheckFrequencies([]float64{freqHz}, rateHz); err != nil {
		return err
	}
	if !(freqHz > 0 && freqHz < rateHz/2) {
		return fmt.Errorf("%w: %g Hz, want more than 0 and less than %g (half the rate)", ErrFit, freqHz, rateHz/2)
	}
	if len(y) < least {
		return fmt.Errorf("%w: %d samples, want at least %d", ErrFit, len(y), least)
	}
	for i, v := range y {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%w: sample %d is %g", ErrFit, i, v)
		}
	}
	return nil
}

// solveSine solves for cos, sin and offset at freqHz and, with a last fit to take
// the derivative from, for the move in frequency.
func solveSine(y []float64, freqHz, rateHz float64, last *SineFit) (SineFit, float64, error) {
	columns := 3
	if last != nil {
		columns = 4
	}
	n := len(y)
	d, step := mat.NewDense(n, columns, nil), phase.TurnsOf(freqHz, rateHz)
	for i := range n {
		s, c := step.Times(uint64(i)).Sincos()
		row := d.RawRowView(i)
		row[0], row[1], row[2] = c, s, 1
		if last != nil {
			row[3] = float64(i) * (last.Sin*c - last.Cos*s) / float64(n)
		}
	}
	var qr mat.QR
	qr.Factorize(d)
	if c := qr.Cond(); c > sineCondition {
		return SineFit{}, 0, fmt.Errorf("%w: %g Hz, offset and phase cannot be told apart in %d samples at %g Hz (condition %.2g)", ErrFit, freqHz, n, rateHz, c)
	}
	var x mat.VecDense
	if err := qr.SolveVecTo(&x, false, mat.NewVecDense(n, y)); err != nil {
		return SineFit{}, 0, fmt.Errorf("%w: %g Hz in %d samples at %g Hz: %v", ErrFit, freqHz, n, rateHz, err)
	}
	fit := SineFit{FreqHz: freqHz, Cos: x.AtVec(0), Sin: x.AtVec(1), Offset: x.AtVec(2)}
	if last != nil {
		return fit, x.AtVec(3) / float64(n) * rateHz / (2 * math.Pi), nil
	}
	squares := 0.0
	for i, v := range y {
		row := d.RawRowView(i)
		r := v - row[0]*fit.Cos - row[1]*fit.Sin - fit.Offset
		squares += r * r
	}
	fit.RMSResidual = math.Sqrt(squares / float64(n))
	return fit, 0, nil
}
