package record

import (
	"example.org/wheatear/lockin/stimulus"
	"math"
	"testing"
)

// A record with a tone where MainsOrder sees none has no line in its uncertainty, and
// one where it sees one has.
func TestMainsOrderIsWhatAnalyzeGoesBy(t *testing.T) {
	const rate, n = 8000, 8000
	for _, hz := range []float64{100, 120, 333, 1000} {
		x := make([]float64, n)
		noise := uint64(1)
		for i := range x {
			noise = noise*6364136223846793005 + 1442695040888963407
			x[i] = 0.3*math.Sin(2*math.Pi*hz*float64(i)/rate) + 1e-5*(float64(noise>>11)/(1<<53)-0.5)
		}
		a, err := Analyze(Signal{RateHz: rate, Channels: [][]float64{x}}, Config{TonesHz: []float64{hz}, MainsHz: 50})
		if err != nil {
			t.Fatal(err)
		}
		_, order := stimulus.MainsOrder(hz, 50, float64(a.End-a.First)/rate)
		if got := a.Tone(hz).LineU[0] > 0; got != (order > 0) {
			t.Errorf("%g Hz: a hidden line is %v, by the rule %v", hz, got, order > 0)
		}
	}
}
