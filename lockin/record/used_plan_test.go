package record

import (
	"example.org/wheatear/lockin/internal/testkit"
	"example.org/wheatear/lockin/stimulus"
	"math"
	"testing"
)

// Against what Analyze does, within a window. This linear fade is left away for longer
// than the round ones of a plan, by a third of its length.
func TestUsedSecondsIsWhatAnalyzeUses(t *testing.T) {
	testkit.NotShort(t)
	const rate, lead, fade = 48000, 0.3, 0.02
	for _, hz := range []float64{100, 120, 1000, 10e3} {
		for _, stands := range []float64{0.25, 1} {
			x := make([]float64, int(rate*(2*lead+2*fade+stands)))
			noise := uint64(7)
			for i := range x {
				at := float64(i)/rate - lead
				level := math.Max(0, math.Min(1, math.Min(at, 2*fade+stands-at)/fade))
				noise = noise*6364136223846793005 + 1442695040888963407
				x[i] = 0.3*level*math.Sin(2*math.Pi*hz*at) + 1e-5*(float64(noise>>11)/(1<<53)-0.5)
			}
			a, err := Analyze(Signal{RateHz: rate, Channels: [][]float64{x}}, Config{TonesHz: []float64{hz}, MainsHz: 50})
			if err != nil {
				t.Fatal(err)
			}
			got, used := stimulus.UsedSeconds(stands, hz), float64(a.End-a.First)/rate
			if math.Abs(got-used) > math.Max(fade/3, 3/hz) {
				t.Errorf("%g Hz for %g s: %g s are used, foretold %g", hz, stands, used, got)
			}
		}
	}
}
