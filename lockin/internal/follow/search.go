package follow

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// search finds the strongest tone of a window in the phasors of its ticks, relative to
// the nominal frequency.
type search struct {
	ticks    []complex128 // of the window
	seen     int
	reach    float64 // turns per tick, either way
	fft      *fourier.CmplxFFT
	in, bins []complex128
}

func newSearch(window int, reach float64) *search {
	n := 8
	for n < 2*window {
		n *= 2
	}
	return &search{
		ticks: make([]complex128, window), reach: math.Min(reach, 0.5),
		fft: fourier.NewCmplxFFT(n), in: make([]complex128, n), bins: make([]complex128, n),
	}
}

func (s *search) add(v complex128) {
	if s.seen < len(s.ticks) {
		s.ticks[s.seen] = v
		s.seen++
	}
}

// strongest returns the offset in turns per tick and the mean phasor at it, as seen in
// the middle of the first tick.
func (s *search) strongest() (offset float64, mean complex128) {
	clear(s.in)
	copy(s.in, s.ticks[:s.seen])
	s.bins = s.fft.Coefficients(s.bins, s.in)
	n := len(s.bins)
	reach := int(math.Min(s.reach*float64(n), float64(n/2-1)))
	best, most := 0, -1.0
	for k := -reach; k <= reach; k++ {
		if p := s.power(k); p > most {
			best, most = k, p
		}
	}
	// A parabola through the peak and its neighbours: near a sinc's top that is within
	// a twentieth of a bin, and the loop does the rest.
	low, high := math.Sqrt(s.power(best-1)), math.Sqrt(s.power(best+1))
	at := float64(best)
	if curve := 2*math.Sqrt(most) - low - high; curve > 0 {
		at += 0.5 * (high - low) / curve
	}
	offset = math.Max(-s.reach, math.Min(s.reach, at/float64(n)))
	for k, v := range s.ticks[:s.seen] {
		mean += v * cmplx.Rect(1, -2*math.Pi*offset*float64(k))
	}
	return offset, mean / complex(float64(max(1, s.seen)), 0)
}

func (s *search) power(k int) float64 {
	n := len(s.bins)
	v := s.bins[(k%n+n)%n]
	return real(v)*real(v) + imag(v)*imag(v)
}
