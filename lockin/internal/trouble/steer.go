package trouble

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/num"
)

// Steering is how the clock of a record moves while it runs, against that of the tone.
type Steering struct {
	Steps   int     // of time, by parts of a sample
	PPM     float64 // the largest deviation of the rate over 40 ms; 0 where it is none but noise
	InRatio bool    // it shows in the ratio of the channels
}

const (
	steerStands = 6   // standard deviations of the noise of a block
	steerTold   = 10  // ppm; cards and players of their own clocks wander by less
	steerWarns  = 100 // ppm: the ratio errs by 2e-5 at 300 ppm and by 1e-3 at 3000 ppm, at 10 kHz
)

// FindSteering follows the rate of a tone in both channels. residual holds what the fit
// leaves of them, fitted the amplitudes of the tone with the phase of the middle. What
// moves the phase of one channel alone, as a part that settles, is no clock.
func FindSteering(residual [][]float64, fitted []complex128, rateHz, freqHz float64) (s Steering) {
	if len(residual) != 2 || len(fitted) != 2 || freqHz >= rateHz/2 {
		return s
	}
	n, length := len(residual[0]), trackLength(rateHz, freqHz, 0)
	turns := freqHz / rateHz
	var ppm [2][]float64
	for ch, x := range residual {
		t := followTone(x, turns, 0, n, length)
		t.add(fitted[ch] * cmplx.Conj(turnHalf(turns, n-1)))
		if len(t.z) < 8 || !t.clear() {
			return s
		}
		scale := 1e6 / (2 * math.Pi * turns * float64(2*t.hop))
		for k := 2; k < len(t.z); k++ {
			ppm[ch] = append(ppm[ch], cmplx.Phase(t.z[k]*cmplx.Conj(t.z[k-2]))*scale)
		}
		middle, noise := num.Quantile(ppm[ch], 0.5), scale*t.noise/t.level
		for k, v := range ppm[ch] {
			if ppm[ch][k] = v - middle; math.Abs(ppm[ch][k]) < steerStands*noise {
				ppm[ch][k] = 0
			}
		}
	}
	for k, v := range ppm[0] {
		if w := ppm[1][k]; v*w > 0 {
			s.PPM = math.Max(s.PPM, math.Min(math.Abs(v), math.Abs(w)))
		}
	}
	return s
}

// Finding says that the system steers its clock; ok is false where it does not.
func (s Steering) Finding() (f finding.Finding, ok bool) {
	f = finding.Finding{Code: finding.Resampled, Severity: finding.Note,
		Advice: "open the card directly, at its own rate, where the system lets you"}
	if s.InRatio || s.PPM > steerWarns {
		f.Severity, f.Advice = finding.Warning, ResampledAdvice
	}
	switch {
	case s.PPM > steerTold:
		f.Detail = fmt.Sprintf("the system steers the clock of the record: its rate moves by up to %.2g ppm within the record, alike in both inputs", s.PPM)
	case s.Steps > 0:
		f.Detail = fmt.Sprintf("the system steers the clock of the record: time steps by parts of a sample, %d times, alike in both inputs", s.Steps)
	default:
		return f, false
	}
	if f.Brief = "steered clock"; s.PPM > steerTold {
		f.Brief = fmt.Sprintf("steered clock %.2g ppm", s.PPM)
	}
	return f, true
}
