package lockin

import (
	"errors"

	"example.org/wheatear/lockin/internal/fold"
	"example.org/wheatear/lockin/internal/phase"
)

// Correlate appends to dst, for each channel and then each frequency,
//
//	Σ x[n]·exp(−j2πfn/rate),  n = 0 at the first frame,
//
// in units of the samples, and returns it. A tone A·cos(2πfn/rate + φ) over N frames that
// hold whole cycles gives ½N·A·exp(jφ). Frequencies are finite; negative ones and those
// beyond half the rate mean what the sum says. The error wraps [ErrConfig].
//
// Frequencies that repeat together after at most 262 144 samples share one pass that adds
// samples modulo that period; others have a pass each. Phases are kept as integer
// fractions of a turn: after ten million samples a sum is within 1e-13 of N times the
// largest sample. No frames give zeros; a sample that is not finite, sums that are not.
// Records of millions of samples are shared among the cores.
func Correlate[T Sample](dst []complex128, in Frames[T], rateHz float64, freqsHz ...float64) ([]complex128, error) {
	if err := phase.CheckFrequencies(freqsHz, rateHz); err != nil {
		return nil, errors.Join(ErrConfig, err)
	}
	var sums []complex128
	var err error
	for ch := range in.channels {
		if sums, err = fold.Correlate(sums, in.channel(ch), freqsHz, rateHz); err != nil {
			return nil, errors.Join(ErrConfig, err)
		}
		dst = append(dst, sums...)
	}
	return dst, nil
}
