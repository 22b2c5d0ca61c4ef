package record

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// silentTone is a tone of which nothing can be said.
func silentTone(freqHz float64, channels, highest int) ToneFit {
	t := ToneFit{NominalHz: freqHz, FreqHz: freqHz, FreqUHz: math.Inf(1),
		Phasors: make([]complex128, channels), LineU: make([]float64, channels), Harmonics: make([][]complex128, channels),
		HarmonicU: make([]float64, channels), Detected: make([]bool, channels), Cov: mat.NewSymDense(2*channels, nil), Dof: 2}
	for i := range 2 * channels {
		t.Cov.SetSym(i, i, math.NaN())
	}
	for ch := range t.Harmonics {
		t.Harmonics[ch], t.HarmonicU[ch] = make([]complex128, max(0, highest-1)), math.NaN()
	}
	return t
}
