package lockin

import (
	"example.org/wheatear/lockin/internal/testkit"
	"fmt"
	"testing"
)

func BenchmarkDemodulator(b *testing.B) {
	x := testkit.RoughSignal(48_000, 0.02, 0.5, 1, 1)
	for _, poles := range []int{1, 4, 8} {
		for _, locked := range []bool{false, true} {
			cfg, ref := DemodConfig{RateHz: 48000, TonesHz: []float64{1000}, Poles: poles, Every: 480}, []float64(nil)
			if locked {
				cfg.TonesHz, cfg.ReferenceHz, ref = nil, 1000, x
			}
			b.Run(fmt.Sprintf("poles=%d/locked=%v", poles, locked), func(b *testing.B) {
				p, d := mustDemodulator(b, cfg)
				dst := make([]complex128, p.Width()*101)
				b.ReportAllocs()
				for b.Loop() {
					d.Process(dst, x, ref)
				}
				perFrame := b.Elapsed().Seconds() / float64(b.N) / float64(len(x))
				b.ReportMetric(perFrame*1e9, "ns/frame")
				b.ReportMetric(1/(perFrame*48000), "x-realtime")
			})
		}
	}
}
