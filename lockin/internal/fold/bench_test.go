package fold

import (
	"testing"
	"time"

	"example.org/wheatear/lockin/internal/testkit"
	"gonum.org/v1/gonum/dsp/fourier"
)

// The kernels against the cost of reading the samples: each benchmark reports
// its time as a multiple (x-sum) of an unrolled sum, with four accumulators, of
// the same ten million stereo frames, taken in turns with it in the same run.
// The record does not fit a cache, so every pass starts cold.

// benchAgainstSum runs kernel on both channels and reports the ratio of times.
func benchAgainstSum[T Sample](b *testing.B, record [2][]T, kernel func(x []T)) {
	b.Helper()
	b.SetBytes(2 * testkit.BenchFrames)
	var sum, own time.Duration
	for b.Loop() {
		start := time.Now()
		testkit.BenchSink += testkit.SumUnrolled(record[0]) + testkit.SumUnrolled(record[1])
		middle := time.Now()
		kernel(record[0])
		kernel(record[1])
		sum += middle.Sub(start)
		own += time.Since(middle)
	}
	b.ReportMetric(float64(own)/float64(sum), "x-sum")
	b.ReportMetric(own.Seconds()/float64(b.N)*1e9/testkit.BenchFrames, "ns/frame")
}

func gridTones(n int, rateHz float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = float64(i+1) * 100 * rateHz / 48000
	}
	return out
}

func benchCorrelate[T Sample](b *testing.B, record [2][]T, freqsHz []float64) {
	c, err := NewCorrelator[T](freqsHz, 48000)
	if err != nil {
		b.Fatal(err)
	}
	dst := make([]complex128, len(freqsHz))
	benchAgainstSum(b, record, func(x []T) {
		c.Reset()
		c.Add(x)
		dst = c.Sums(dst)
	})
}

var benchCases = []struct {
	name    string
	freqsHz []float64
}{
	{"grid=48", []float64{1000}},
	{"grid=4799", []float64{103 * 48000.0 / 4799}},
	{"grid=48000", []float64{997}},
	{"any", []float64{1000.123456}},
	{"grid=480/tones=31", gridTones(31, 48000)},
	{"grid=480/tones=128", gridTones(128, 48000)},
	{"grid=48000/tones=31", append(gridTones(30, 48000), 997)},
	{"grid=48000/tones=128", append(gridTones(127, 48000), 997)},
	{"any/tones=4", []float64{99.912345, 1000.123456, 3333.312345, 9999.912345}},
}

// BenchmarkCorrelate is the function as callers have it: on all cores.
func BenchmarkCorrelate(b *testing.B) {
	wide, narrow := testkit.BenchStereo[float64](), testkit.BenchStereo[float32]()
	for _, c := range benchCases {
		b.Run(c.name+"/float64", func(b *testing.B) { benchWhole(b, wide, c.freqsHz) })
		b.Run(c.name+"/float32", func(b *testing.B) { benchWhole(b, narrow, c.freqsHz) })
	}
}

func benchWhole[T Sample](b *testing.B, record [2][]T, freqsHz []float64) {
	dst := make([]complex128, len(freqsHz))
	benchAgainstSum(b, record, func(x []T) {
		var err error
		if dst, err = Correlate(dst, x, freqsHz, 48000); err != nil {
			b.Fatal(err)
		}
	})
}

// BenchmarkCorrelator is the same on one core, as in a stream; where the sum already
// waits for memory, so does this.
func BenchmarkCorrelator(b *testing.B) {
	wide, narrow := testkit.BenchStereo[float64](), testkit.BenchStereo[float32]()
	for _, c := range benchCases {
		b.Run(c.name+"/float64", func(b *testing.B) { benchCorrelate(b, wide, c.freqsHz) })
		b.Run(c.name+"/float32", func(b *testing.B) { benchCorrelate(b, narrow, c.freqsHz) })
	}
}

// What the same record costs by fast Fourier transform: compare x-sum.
func BenchmarkFourierTransformOfRecord(b *testing.B) {
	record := testkit.BenchStereo[float64]()
	fft := fourier.NewFFT(testkit.BenchFrames)
	coeff := make([]complex128, testkit.BenchFrames/2+1)
	benchAgainstSum(b, record, func(x []float64) { fft.Coefficients(coeff, x) })
}
