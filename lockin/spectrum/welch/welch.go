// Package welch estimates power spectral densities.
package welch

import (
	"errors"
	"fmt"
	"math/bits"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/spectrum"
	"github.com/mjibson/go-dsp/spectral"
)

// ErrSpectrum is wrapped by errors about spectra that cannot be formed.
var ErrSpectrum = errors.New("welch: cannot form a spectrum")

// Density estimates the one-sided power spectral density of x, per hertz, by Welch's
// method: segments that overlap by half, each windowed, their squared spectra
// averaged. Bin i is at i·rateHz/segment; the sum over bins times that step is the
// mean square of x. segment must be a power of two, at least 8 and at most len(x).
// The error wraps [ErrSpectrum]. Source: Welch, IEEE Trans. Audio Electroacoust.
// 15 (1967) 70.
func Density(x []float64, rateHz float64, segment int, w spectrum.Window) (density, freqsHz []float64, err error) {
	if segment < 8 || segment > len(x) || bits.OnesCount(uint(segment)) != 1 {
		return nil, nil, fmt.Errorf("%w: segments of %d from %d samples, want a power of two from 8 to %d", ErrSpectrum, segment, len(x), len(x))
	}
	if err := phase.CheckFrequencies(nil, rateHz); err != nil {
		return nil, nil, errors.Join(ErrSpectrum, err)
	}
	values := w.Values(segment)
	// With Pad at 0 the window has the length of the data; other lengths would be
	// windowed after padding and scaled wrongly. The window is handed out in
	// copies, as the library is free to write into it.
	density, freqsHz = spectral.Pwelch(x, rateHz, &spectral.PwelchOptions{
		NFFT: segment, Noverlap: segment / 2,
		Window: func(int) []float64 { return append([]float64(nil), values...) },
	})
	return density, freqsHz, nil
}
