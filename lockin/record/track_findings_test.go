package record

import (
	"example.org/wheatear/lockin/finding"
	"math"
	"math/rand/v2"
	"testing"
)

func followed(t *testing.T, frames int, change func(x [][]float64) [][]float64) *Track {
	t.Helper()
	rng := rand.New(rand.NewPCG(6, 7))
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range x[0] {
		ph := 2 * math.Pi * 1000 / 48000 * float64(i)
		x[0][i] = 0.5*math.Sin(ph) + 1e-4*rng.NormFloat64()
		x[1][i] = 0.2*math.Cos(ph) + 1e-4*rng.NormFloat64()
	}
	x = change(x)
	tr, err := NewTracker(TrackConfig{RateHz: 48000, TonesHz: []float64{1000}, Channels: 2})
	if err != nil {
		t.Fatal(err)
	}
	tr.Add(x)
	track, err := tr.Result()
	if err != nil {
		t.Fatal(err)
	}
	return track
}

func TestTrackFindings(t *testing.T) {
	for _, tc := range []struct {
		name   string
		code   finding.Code
		change func(x [][]float64) [][]float64
	}{
		{"sound", "", func(x [][]float64) [][]float64 { return x }},
		{"samples missing", finding.Dropout, func(x [][]float64) [][]float64 {
			for ch := range x {
				x[ch] = append(x[ch][:200_000], x[ch][200_007:]...)
			}
			return x
		}},
		{"offset", finding.Offset, func(x [][]float64) [][]float64 {
			for i := range x[1] {
				x[1][i] += 0.2
			}
			return x
		}},
		{"not finite", finding.NotFinite, func(x [][]float64) [][]float64 { x[0][100_000] = math.NaN(); return x }},
		{"no tone", finding.NoSignal, func(x [][]float64) [][]float64 {
			rng := rand.New(rand.NewPCG(1, 1))
			for _, ch := range x {
				for i := range ch {
					ch[i] = 0.1 * rng.NormFloat64()
				}
			}
			return x
		}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got := followed(t, 480_000, tc.change).Findings()
			if tc.code == "" && len(got) > 0 || tc.code != "" && !hasCode(got, tc.code) {
				t.Errorf("findings %v, want %q", got, tc.code)
			}
		})
	}
}
