package lockin

import (
	"testing"
	"time"
)

// BenchmarkJointFit reports, for one second at 48 kHz and two channels with mains
// under the tone, the joint fit (x-sum) and the whole analysis (whole-x-sum), both
// per channel and as multiples of an unrolled sum of as many samples, taken cold
// out of ten million stereo frames in the same run.
func BenchmarkJointFit(b *testing.B) {
	left, _ := humSignal(48000, 48000, 1030, 50.1, 0, 0.1, 1e-3, 9, 1)
	right, _ := humSignal(48000, 48000, 1030, 50.1, 0, 0.05, 1e-3, 9, 2)
	sig := Signal{RateHz: 48000, Channels: [][]float64{left, right}}
	cfg := Config{TonesHz: []float64{1030}, MainsHz: 50}
	record := benchStereo[float64]()
	model := jointModel{rateHz: 48000, degree: 2, mainsHz: 50.09, mainsCentre: 50, mainsBound: 1, eps: []float64{0}, epsBound: []float64{1e-4}, chirpMax: 0.1,
		freeEps: true, freeMains: true}
	for k := 1; k <= 5; k++ {
		model.lines = append(model.lines, line{base: 1030 * float64(k), order: k})
	}
	for k := 1; k <= humOrders; k++ {
		model.lines = append(model.lines, line{mains: true, base: float64(k), tone: -1, order: k})
	}
	var sum, fit, whole time.Duration
	for b.Loop() {
		start := time.Now()
		benchSink += sumUnrolled(record[0]) + sumUnrolled(record[1])
		sum += time.Since(start)
		start = time.Now()
		if _, err := fitJoint(sig.Channels, model, fineFit); err != nil {
			b.Fatal(err)
		}
		fit += time.Since(start)
		start = time.Now()
		if _, err := Analyze(sig, cfg); err != nil {
			b.Fatal(err)
		}
		whole += time.Since(start)
	}
	same := sum.Seconds() / (2 * benchFrames) * 48000
	b.ReportMetric(fit.Seconds()/2/same, "x-sum")
	b.ReportMetric(whole.Seconds()/2/same, "whole-x-sum")
}
