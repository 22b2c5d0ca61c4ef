package wave

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"testing"
	"time"
)

// BenchmarkRead decodes stereo files from memory. Beside bytes per second it
// gives frames per second, how much faster than a 192 kHz recording that is, and
// the ratio to summing the same bytes one by one in the same run.
func BenchmarkRead(b *testing.B) {
	for _, f := range []Format{
		{RateHz: 192000, Channels: 2, Bits: 16},
		{RateHz: 192000, Channels: 2, Bits: 24},
		{RateHz: 192000, Channels: 2, Bits: 32},
		{RateHz: 192000, Channels: 2, Bits: 32, Float: true},
	} {
		b.Run(fmt.Sprintf("%d-float=%t", f.Bits, f.Float), func(b *testing.B) { benchRead(b, f) })
	}
}

func benchRead(b *testing.B, f Format) {
	const frames = 1 << 20
	file := bytes.NewReader(encoded(b, f, sine(2, frames)))
	dst := make([]float64, 2*8192)
	b.SetBytes(file.Size())
	b.ReportAllocs()
	for b.Loop() {
		file.Seek(0, io.SeekStart)
		r, err := NewReader(file)
		if err != nil {
			b.Fatal(err)
		}
		for err == nil {
			_, err = r.Read(dst)
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
	perSecond := frames * float64(b.N) / b.Elapsed().Seconds()
	b.ReportMetric(perSecond/1e6, "Mframes/s")
	b.ReportMetric(perSecond/f.RateHz, "x-realtime")
	data := make([]byte, file.Size())
	file.ReadAt(data, 0)
	b.ReportMetric(byteSum(data)*perSecond/frames, "x-bytesum")
}

var sink uint64

// byteSum is the best of several times, in seconds, that adding up the bytes takes.
func byteSum(data []byte) float64 {
	best := math.Inf(1)
	for range 5 {
		start, sum := time.Now(), uint64(0)
		for _, v := range data {
			sum += uint64(v)
		}
		best = min(best, time.Since(start).Seconds())
		sink += sum
	}
	return best
}

func BenchmarkWrite(b *testing.B) {
	for _, bits := range []int{16, 24} {
		b.Run(fmt.Sprint(bits), func(b *testing.B) {
			src := sine(2, 1<<18)
			w, err := NewWriter(io.Discard, Format{RateHz: 192000, Channels: 2, Bits: bits})
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(len(src) * bits / 8))
			b.ReportAllocs()
			for b.Loop() {
				if err := w.Write(src); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
