package page

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/spectrum"
)

// Spectrum is what both inputs hear over frequency, in columns of equal width on a
// logarithmic scale, each with the largest line in it.
type Spectrum struct {
	LowHz     float64   `json:"low_hz"`
	HighHz    float64   `json:"high_hz"`
	DB        [2][]int  `json:"db"` // amplitude re full scale
	Tones     []float64 `json:"tones_hz"`
	Harmonics []float64 `json:"harmonics_hz"`
	Mains     []float64 `json:"mains_hz"`
}

const (
	spectrumLow     = 20.0
	spectrumColumns = 180
	spectrumFloor   = -160 // dB; nothing is lower
)

// windowed transforms windows of one length. It keeps its memory.
type windowed struct {
	n      int
	fft    *fourier.FFT
	taper  []float64
	scaled []float64
	lines  []complex128
}

// prepare makes the window.
func (m *windowed) prepare(n int) {
	if m.n == n {
		return
	}
	m.n, m.fft = n, fourier.NewFFT(n)
	m.scaled, m.taper = make([]float64, n), spectrum.BlackmanHarris().Values(n)
}

// of is the spectrum of a signal of two channels, with what the analysis knows.
func (m *windowed) of(sig record.Signal, a *record.Analysis) *Spectrum {
	n := sig.Frames()
	m.prepare(n)
	s := &Spectrum{LowHz: spectrumLow, HighHz: sig.RateHz / 2, Tones: []float64{}, Harmonics: []float64{}, Mains: []float64{}}
	for ch := range s.DB {
		s.DB[ch] = m.columns(sig.Channels[ch], sig.RateHz, s.HighHz)
	}
	for _, t := range a.Tones {
		s.Tones = append(s.Tones, t.FreqHz)
		for k := range t.Harmonics[0] {
			if f := t.FreqHz * float64(k+2); f < s.HighHz {
				s.Harmonics = append(s.Harmonics, f)
			}
		}
	}
	for _, l := range a.Mains.Lines {
		s.Mains = append(s.Mains, l.FreqHz)
	}
	return s
}

// columns are the levels of one channel.
func (m *windowed) columns(x []float64, rateHz, highHz float64) []int {
	sum := 0.0
	for i, v := range x {
		m.scaled[i] = v * m.taper[i]
		sum += m.taper[i]
	}
	m.lines = m.fft.Coefficients(m.lines, m.scaled)
	out := make([]int, spectrumColumns)
	step := math.Pow(highHz/spectrumLow, 1.0/spectrumColumns)
	low := spectrumLow
	for c := range out {
		high := low * step
		out[c] = m.level(low, high, rateHz, 2/sum)
		low = high
	}
	return out
}

// level is the largest line between two frequencies, or the one nearest to them.
func (m *windowed) level(low, high, rateHz, scale float64) int {
	first, last := int(math.Ceil(low*float64(m.n)/rateHz)), int(math.Floor(high*float64(m.n)/rateHz))
	if last < first {
		first = int(math.Round(math.Sqrt(low*high) * float64(m.n) / rateHz))
		last = first
	}
	most := 0.0
	for k := first; k <= min(last, len(m.lines)-1); k++ {
		c := m.lines[k]
		most = math.Max(most, real(c)*real(c)+imag(c)*imag(c))
	}
	return max(spectrumFloor, int(math.Round(spectrum.PowerDB(most*scale*scale))))
}
