package wave

import (
	"bytes"
	"errors"
	"io"
	"math"
	"testing"
)

// FuzzRead feeds anything to the reader: it must answer with a FormatError or
// with samples, the same from a pipe as from a file that can seek, in memory
// bound by the input; and what decodes must survive being written and read again.
func FuzzRead(f *testing.F) {
	for _, c := range published {
		f.Add(mustHex(f, c.hex))
	}
	for _, file := range hostile() {
		f.Add(file)
	}
	f16 := ck("fmt ", stereo(1, 16).body())
	odd := stereo(0xFFFE, 24)
	odd.ext = append(extension(20, guidPCM), 0xde, 0xad)
	f.Add(riff(ck("JUNK", make([]byte, 27)), f16, ck("LIST", make([]byte, 5)), ck("data", make([]byte, 13))))
	f.Add(riff(ck("fmt ", odd.body()), ck("data", make([]byte, 25))))
	f.Add(floatFile([]float64{1, -4, math.NaN(), math.Inf(1)}))
	f.Add(riffSized("BW64", open32, ck("ds64", sizes64(0, 16, 4)), f16, ckSized("data", make([]byte, 20), open32)))
	f.Fuzz(checkFuzzed)
}

func checkFuzzed(t *testing.T, file []byte) {
	r, err := NewReader(bytes.NewReader(file))
	piped, pipedErr := NewReader(pipe(file))
	if (err == nil) != (pipedErr == nil) {
		t.Fatalf("seeking: %v, through a pipe: %v", err, pipedErr)
	}
	if err != nil {
		var at *FormatError
		if !errors.As(err, &at) || at.Offset < 0 || at.Offset > int64(len(file)) {
			t.Fatalf("error %v, want a FormatError within %d bytes", err, len(file))
		}
		return
	}
	format := r.Format()
	samples, also := readBound(t, r, len(file)), readBound(t, piped, len(file))
	if !sameBits(samples, also) {
		t.Fatalf("%v: a pipe gave %d other samples than a file, %d", format, len(also), len(samples))
	}
	if int(format.Frames)*format.Channels != len(samples) {
		t.Fatalf("%v: %d frames promised, %d samples read", format, format.Frames, len(samples))
	}
	again(t, format, samples)
}

// readBound reads all that a file of so many bytes can hold, in small pieces.
func readBound(t *testing.T, r *Reader, size int) []float64 {
	t.Helper()
	if max(blockBytes, r.Format().frameBytes()) < len(r.buf) {
		t.Fatalf("a buffer of %d bytes", len(r.buf))
	}
	var out []float64
	dst := make([]float64, 3*r.Format().Channels)
	for {
		n, err := r.Read(dst)
		out = append(out, dst[:n*r.Format().Channels]...)
		if err == io.EOF {
			return out
		}
		if err != nil || n == 0 || len(out) > size {
			t.Fatalf("%v: Read gave %d frames, %v; %d samples from %d bytes", r.Format(), n, err, len(out), size)
		}
	}
}

// again writes samples with all the bits of their container, and reads them back.
func again(t *testing.T, f Format, samples []float64) {
	t.Helper()
	f.Bits = f.Container
	if f.RateHz*float64(f.frameBytes()) > math.MaxUint32 {
		f.RateHz = 1
	}
	if f.frameBytes() > math.MaxUint16 {
		return
	}
	r, err := NewReader(bytes.NewReader(encoded(t, f, samples)))
	if err != nil {
		t.Fatalf("%v: reading what was written: %v", f, err)
	}
	if back := readBound(t, r, len(samples)*8); !sameBits(back, samples) {
		t.Fatalf("%v: %d samples written, others read", f, len(samples))
	}
}

// sameBits compares exactly; one NaN is like another.
func sameBits(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] && !(math.IsNaN(a[i]) && math.IsNaN(b[i])) {
			return false
		}
	}
	return true
}
