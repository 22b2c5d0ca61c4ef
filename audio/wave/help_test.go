package wave

import (
	"bytes"
	"io"
	"math"
	"testing"

	"example.org/wheatear/audio"
)

// encoded is a file with the samples, written by our own writer.
func encoded(t testing.TB, f Format, samples []float64) []byte {
	t.Helper()
	var out bytes.Buffer
	f.Frames = int64(len(samples) / f.Channels)
	w, err := NewWriter(&out, f)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(samples); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// sine is interleaved, with another frequency, level and phase in each channel.
func sine(channels, frames int) []float64 {
	out := make([]float64, 0, channels*frames)
	for i := range frames {
		for ch := range channels {
			c := float64(ch + 1)
			out = append(out, 0.9/c*math.Sin(0.1309*c*float64(i)+c))
		}
	}
	return out
}

// drain reads to the end, with room for the given number of frames each time.
func drain(t testing.TB, r *Reader, frames int) []float64 {
	t.Helper()
	var out []float64
	block := make([]float64, frames*r.Format().Channels)
	for {
		n, err := r.Read(block)
		out = append(out, block[:n*r.Format().Channels]...)
		if err == io.EOF {
			return out
		}
		if err != nil || n == 0 {
			t.Fatalf("Read gave %d frames, %v", n, err)
		}
	}
}

// pipe hides that a reader can seek.
func pipe(b []byte) io.Reader { return struct{ io.Reader }{bytes.NewReader(b)} }

// kinds lists the kinds of the events.
func kinds(events []audio.Event) []audio.EventKind {
	var out []audio.EventKind
	for _, e := range events {
		out = append(out, e.Kind)
	}
	return out
}
