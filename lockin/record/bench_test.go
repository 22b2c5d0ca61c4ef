package record

import (
	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/testkit"
	"testing"
	"time"
)

// BenchmarkJointFit reports, for one second at 48 kHz and two channels with mains
// under the tone, the joint fit (x-sum) and the whole analysis (whole-x-sum), both
// per channel and as multiples of an unrolled sum of as many samples, taken cold
// out of ten million stereo frames in the same run.
func BenchmarkJointFit(b *testing.B) {
	left, _ := testkit.HumSignal(48000, 48000, 1030, 50.1, 0, 0.1, 1e-3, 9, 1)
	right, _ := testkit.HumSignal(48000, 48000, 1030, 50.1, 0, 0.05, 1e-3, 9, 2)
	sig := Signal{RateHz: 48000, Channels: [][]float64{left, right}}
	cfg := Config{TonesHz: []float64{1030}, MainsHz: 50}
	stereo := testkit.BenchStereo[float64]()
	model := joint.Model{RateHz: 48000, Degree: 2, MainsHz: 50.09, MainsCentre: 50, MainsBound: 1, Eps: []float64{0}, EpsBound: []float64{1e-4}, ChirpMax: 0.1,
		FreeEps: true, FreeMains: true}
	for k := 1; k <= 5; k++ {
		model.Lines = append(model.Lines, joint.Line{Base: 1030 * float64(k), Order: k})
	}
	for k := 1; k <= humOrders; k++ {
		model.Lines = append(model.Lines, joint.Line{Mains: true, Base: float64(k), Tone: -1, Order: k})
	}
	var sum, fit, whole time.Duration
	for b.Loop() {
		start := time.Now()
		testkit.BenchSink += testkit.SumUnrolled(stereo[0]) + testkit.SumUnrolled(stereo[1])
		sum += time.Since(start)
		start = time.Now()
		if _, err := joint.Solve(sig.Channels, model, joint.Fine); err != nil {
			b.Fatal(err)
		}
		fit += time.Since(start)
		start = time.Now()
		if _, err := Analyze(sig, cfg); err != nil {
			b.Fatal(err)
		}
		whole += time.Since(start)
	}
	same := sum.Seconds() / (2 * testkit.BenchFrames) * 48000
	b.ReportMetric(fit.Seconds()/2/same, "x-sum")
	b.ReportMetric(whole.Seconds()/2/same, "whole-x-sum")
}
