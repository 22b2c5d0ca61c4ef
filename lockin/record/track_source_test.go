package record

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
)

// trackSource makes two channels of a tone, off by ppm, with offset and noise that
// is partly common, block by block.
type trackSource struct {
	rate, freq float64
	z          [2]complex128 // phasors at frame 0
	noise      float64
	common     float64
	rng        *rand.Rand
	step       phase.Turns
	at         uint64
}

func newTrackSource(rate, freq float64, noise float64) *trackSource {
	return &trackSource{
		rate: rate, freq: freq, z: [2]complex128{cmplx.Rect(0.5, 0.3), cmplx.Rect(0.2, -1)},
		noise: noise, rng: rand.New(rand.NewPCG(71, 72)), step: phase.TurnsOf(freq, rate),
	}
}

func (s *trackSource) block(n int) [][]float64 {
	out := [][]float64{make([]float64, n), make([]float64, n)}
	ahead := make([]complex128, n)
	phase.FillPhasors(ahead, s.step.Times(s.at), s.step)
	for i, w := range ahead {
		both := s.common * s.rng.NormFloat64()
		for ch := range out {
			v := real(s.z[ch])*real(w) - imag(s.z[ch])*imag(w)
			out[ch][i] = v + 0.01 + both + s.noise*s.rng.NormFloat64()
		}
	}
	s.at += uint64(n)
	return out
}

// at returns the phasor of a channel with time origin at a frame.
func (s *trackSource) phasorAt(ch int, frame float64) complex128 {
	w := s.step.Times(uint64(2*frame)).Of() / 2 // frame may be half
	if uint64(2*frame)%2 == 0 {
		w = s.step.Times(uint64(frame)).Of()
	}
	return s.z[ch] * cmplx.Rect(1, 2*math.Pi*w)
}

func mustTrack(t testing.TB, cfg TrackConfig, s *trackSource, frames int, edit func(at int, block [][]float64)) *Track {
	t.Helper()
	tr, err := NewTracker(cfg)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < frames; at += 10_000 {
		block := s.block(10_000)
		if edit != nil {
			edit(at, block)
		}
		if err := tr.Add(block); err != nil {
			t.Fatal(err)
		}
	}
	r, err := tr.Result()
	if err != nil {
		t.Fatal(err)
	}
	return r
}
