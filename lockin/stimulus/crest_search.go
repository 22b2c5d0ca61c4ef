package stimulus

import (
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/lockin/internal/num"
	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	searchTones  = 4       // fewer have nothing to gain
	searchGrid   = 1 << 17 // the longest grid that is worth the time
	searchRounds = 100
	searchFrom   = 0.35 // of the peak: what is above counts as too high in the first round …
	searchTo     = 0.90 // … and in the last
	searchTurn   = 0.3  // rad, by which a round turns no phase more, falling to nearly none
)

// searchPhases returns phases with which the waveform of [PeriodicPeak] peaks lower, or
// the given ones where it finds none better. Each round turns the phases against the
// slope of the energy in what stands above a limit, which rises from round to round:
//
//	φ_i ← φ_i + s·Im(C_i exp(−jφ_i)),  C the spectrum of clip(x) − x
//
// It draws nothing: the same tones get the same phases. 31 tones evenly spread in
// logarithm from 20 Hz to 20 kHz come from 4.2 to 3.3 in one to two hundred transforms
// of 65536 points, about half a second. Like the clipping of van der Ouderaa, Schoukens
// and Renneboog, IEEE Trans. Instrum. Meas. 37 (1988) 145, but in small steps: sparse
// tones leave too little above a high limit to turn the phases by itself.
func searchPhases(cycles []int, amplitudes, phasesRad []float64) []float64 {
	n := searchLength(cycles)
	if len(cycles) < searchTones || n > searchGrid {
		return phasesRad
	}
	s := phaseSearch{cycles: cycles, amplitudes: amplitudes, fft: fourier.NewFFT(n), x: make([]float64, n), c: make([]complex128, n/2+1)}
	phases, best, least := slices.Clone(phasesRad), slices.Clone(phasesRad), math.Inf(1)
	for round := range searchRounds {
		part := float64(round) / searchRounds
		if peak := s.draw(phases); peak < least {
			least = peak
			copy(best, phases)
		}
		s.turn(phases, least*(searchFrom+(searchTo-searchFrom)*part), searchTurn*(1-0.95*part))
	}
	if PeriodicPeak(cycles, amplitudes, best) < PeriodicPeak(cycles, amplitudes, phasesRad) {
		return best
	}
	return phasesRad
}

// searchLength returns the power of two that has three points or more per period of the
// highest tone.
func searchLength(cycles []int) int {
	n := 64
	for n < 3*slices.Max(append([]int{1}, cycles...)) {
		n *= 2
	}
	return n
}

// phaseSearch is the waveform on a grid.
type phaseSearch struct {
	cycles     []int
	amplitudes []float64
	fft        *fourier.FFT
	x          []float64
	c          []complex128
}

// draw forms the waveform and returns its peak on the grid.
func (s *phaseSearch) draw(phases []float64) float64 {
	clear(s.c)
	for i, k := range s.cycles {
		s.c[k] += cmplx.Rect(s.amplitudes[i]/2, phases[i])
	}
	s.fft.Sequence(s.x, s.c)
	lo, hi := num.MinMax(s.x)
	return math.Max(-lo, hi)
}

// turn turns the phases by most at the most, towards less above the limit.
func (s *phaseSearch) turn(phases []float64, limit, most float64) {
	for i, v := range s.x {
		s.x[i] = math.Max(-limit, math.Min(limit, v)) - v
	}
	s.fft.Coefficients(s.c, s.x)
	by, worst := make([]float64, len(phases)), 0.0
	for i, k := range s.cycles {
		by[i] = imag(s.c[k] * cmplx.Rect(1, -phases[i]))
		worst = math.Max(worst, math.Abs(by[i]))
	}
	if worst == 0 {
		return
	}
	for i := range phases {
		phases[i] += by[i] / worst * most
	}
}
