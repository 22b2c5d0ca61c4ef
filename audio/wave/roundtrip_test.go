package wave

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"example.org/wheatear/audio"
	"pgregory.net/rapid"
)

// step is the largest difference that writing and reading a value within full
// scale may leave: half a step of 2^(1-b) by rounding, a whole one at +1, which
// integers miss by one; 2^-24 of the value for float32, half the last place of its
// 24 bits, and 2^-150 where it is subnormal; nothing for float64.
func step(f Format, v float64) float64 {
	switch {
	case f.Float && f.Bits == 64:
		return 0
	case f.Float:
		return max(0x1p-24*math.Abs(v), 0x1p-150)
	case v > 1-math.Ldexp(1, 1-f.Bits):
		return math.Ldexp(1, 1-f.Bits)
	}
	return math.Ldexp(1, -f.Bits)
}

// TestRoundTrip writes and reads records of 1 to 8 channels in every format.
func TestRoundTrip(t *testing.T) {
	for _, f := range []Format{
		{Bits: 8}, {Bits: 16}, {Bits: 24}, {Bits: 32}, {Bits: 12}, {Bits: 20}, {Bits: 24, Container: 32},
		{Bits: 32, Float: true}, {Bits: 64, Float: true},
	} {
		for channels := 1; channels <= 8; channels++ {
			f.RateHz, f.Channels = 44100, channels
			t.Run(fmt.Sprint(f), func(t *testing.T) {
				in := sine(channels, 301)
				in[0] = 1
				r, err := NewReader(bytes.NewReader(encoded(t, f, in)))
				if err != nil {
					t.Fatal(err)
				}
				checkSame(t, f, in, drain(t, r, 64))
				if got := r.Format(); got.Bits != f.Bits || got.Float != f.Float || got.Channels != channels || got.Frames != 301 {
					t.Errorf("format %v with %d frames, want %v with 301", got, got.Frames, f)
				}
				if len(r.Events()) != 0 {
					t.Errorf("events %v", r.Events())
				}
			})
		}
	}
}

type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

func checkSame(t failer, f Format, in, out []float64) {
	t.Helper()
	if len(in) != len(out) {
		t.Fatalf("%v: %d samples in, %d out", f, len(in), len(out))
	}
	for i, v := range in {
		if d := math.Abs(out[i] - v); !(d <= step(f, v)) {
			t.Fatalf("%v: sample %d: %v in, %v out, off by %g of %g", f, i, v, out[i], d, step(f, v))
		}
	}
}

// anyFormat draws a format that the writer accepts.
func anyFormat(t *rapid.T) Format {
	f := Format{
		RateHz:   float64(rapid.IntRange(audio.LeastRateHz, 768000).Draw(t, "rate")),
		Channels: rapid.IntRange(1, 12).Draw(t, "channels"),
		Float:    rapid.Bool().Draw(t, "float"),
	}
	if f.Float {
		f.Bits = 32 * rapid.IntRange(1, 2).Draw(t, "words")
		return f
	}
	f.Container = 8 * rapid.IntRange(1, 4).Draw(t, "bytes")
	f.Bits = rapid.IntRange(1, f.Container).Draw(t, "bits")
	return f
}

// TestAnyRoundTrip holds for any format, content, block size, with the length
// announced or not, through a pipe or not: what is written is read, and writing
// what was read gives the same bytes.
func TestAnyRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFormat(t)
		frames := rapid.IntRange(0, 200).Draw(t, "frames")
		in := rapid.SliceOfN(rapid.Float64Range(-1, 1), frames*f.Channels, frames*f.Channels).Draw(t, "samples")
		if rapid.Bool().Draw(t, "announced") {
			f.Frames = int64(frames)
		}
		file := writeInPieces(t, f, in)
		out := readInPieces(t, file)
		checkSame(t, f, in, out)
		if again := writeInPieces(t, f, out); !bytes.Equal(again, file) {
			t.Fatalf("%v: a second round gives another file", f)
		}
	})
}

func writeInPieces(t *rapid.T, f Format, in []float64) []byte {
	var out bytes.Buffer
	w, err := NewWriter(&out, f)
	if err != nil {
		t.Fatal(err)
	}
	for len(in) > 0 {
		n := min(len(in), f.Channels*rapid.IntRange(1, 90).Draw(t, "write"))
		if err := w.Write(in[:n]); err != nil {
			t.Fatal(err)
		}
		in = in[n:]
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func readInPieces(t *rapid.T, file []byte) []float64 {
	src := pipe(file)
	if rapid.Bool().Draw(t, "seekable") {
		src = bytes.NewReader(file)
	}
	r, err := NewReader(src)
	if err != nil {
		t.Fatal(err)
	}
	var out []float64
	channels := r.Format().Channels
	for err == nil {
		room := rapid.IntRange(channels, 90*channels).Draw(t, "room")
		dst := make([]float64, room+1)
		dst[room] = 42 // a guard behind the room given
		var n int
		n, err = r.Read(dst[:room])
		if dst[room] != 42 {
			t.Fatalf("Read wrote behind its room of %d", room)
		}
		out = append(out, dst[:n*channels]...)
	}
	return out
}

func TestWriteAll(t *testing.T) {
	in := sine(2, 10000) // more than one block
	rec := &audio.Record{RateHz: 96000, Channels: make([][]float64, 2)}
	audio.Deinterleave(rec.Channels, in)
	var out bytes.Buffer
	if clipped, err := WriteAll(&out, rec, 24, false); err != nil || clipped != 0 {
		t.Fatalf("%d clipped, %v", clipped, err)
	}
	got, err := ReadAll(&out, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got.RateHz != 96000 || got.Bits != 24 {
		t.Errorf("%g Hz, %d bits; want 96000, 24", got.RateHz, got.Bits)
	}
	checkSame(t, Format{Bits: 24}, in, audio.Interleave(nil, got.Channels, 0, got.Frames()))
}
