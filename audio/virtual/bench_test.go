package virtual

import "testing"

func BenchmarkLinear(b *testing.B) {
	j, _ := TypicalJig().withDefaults()
	p, err := newPlayer(j.build(inserted{part: part("C 1u + R 0.2 + L 15n")}), 48000, newKernel())
	if err != nil {
		b.Fatal(err)
	}
	benchmarkPlayer(b, p)
}

func BenchmarkJunction(b *testing.B) {
	j, _ := TypicalJig().withDefaults()
	d := &Part{Circuit: "C 1u", Junctions: []Junction{{}}}
	p, err := newPlayer(j.build(inserted{part: d}), 48000, newKernel())
	if err != nil {
		b.Fatal(err)
	}
	benchmarkPlayer(b, p)
}

// benchmarkPlayer plays a tenth of a second at a time at 48 kHz.
func benchmarkPlayer(b *testing.B, p *player) {
	drive := make([]float64, 4800)
	for i := range drive {
		drive[i] = 0.5 - float64(i%97)/97
	}
	var dst []frame
	b.ReportAllocs()
	for b.Loop() {
		out, err := p.process(dst[:0], drive)
		if err != nil {
			b.Fatal(err)
		}
		dst = out
	}
	b.ReportMetric(0.1*float64(b.N)/b.Elapsed().Seconds(), "x-realtime")
}
