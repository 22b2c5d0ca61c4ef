package virtual

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
)

// raw is frames of two channels in 32 bit: the drive, and something else beside it.
func raw(drive []float64) []byte {
	var out []byte
	for _, v := range drive {
		out = binary.LittleEndian.AppendUint32(out, math.Float32bits(float32(v)))
		out = binary.LittleEndian.AppendUint32(out, math.Float32bits(-0.7))
	}
	return out
}

func ramp(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = float64(float32(math.Sin(0.1*float64(i) + 1e-5*float64(i*i))))
	}
	return out
}

// The filter gives what a stream gives, however its input comes.
func TestFilter(t *testing.T) {
	drive := ramp(3000)
	cfg := Config{Jig: TypicalJig(), Faults: Faults{LatencyFrames: 20, Bits: 16, Delay: [2]float64{0, 0.3}}}
	s, err := newCard(t, cfg).Stream(48000)
	if err != nil {
		t.Fatal(err)
	}
	heard, err := s.Process(nil, drive)
	if err != nil {
		t.Fatal(err)
	}
	var want []byte
	for _, v := range heard {
		want = binary.LittleEndian.AppendUint32(want, math.Float32bits(float32(v)))
	}
	readers := map[string]func(io.Reader) io.Reader{
		"whole":        func(r io.Reader) io.Reader { return r },
		"byte by byte": iotest.OneByteReader,
		"halves":       iotest.HalfReader,
		"data and EOF": iotest.DataErrReader,
	}
	for name, wrap := range readers {
		var out bytes.Buffer
		if err := newCard(t, cfg).Filter(context.Background(), wrap(bytes.NewReader(raw(drive))), &out, 48000); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !bytes.Equal(out.Bytes(), want) {
			t.Errorf("%s: %d bytes that are not those of a stream", name, out.Len())
		}
	}
}

// Each block is answered before the next is read: a sound server waits for it.
func TestFilterAnswersAtOnce(t *testing.T) {
	c := newCard(t, Config{})
	inR, inW := io.Pipe()
	outR, outW := io.Pipe()
	done := make(chan error, 1)
	go func() { done <- c.Filter(context.Background(), inR, outW, 48000) }()
	for range 5 {
		go inW.Write(raw(ramp(480)))
		if _, err := io.ReadFull(outR, make([]byte, 480*frameBytes)); err != nil {
			t.Fatal(err)
		}
	}
	inW.Close()
	if err := <-done; err != nil {
		t.Error(err)
	}
}

func TestFilterFails(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	broken := errors.New("broken")
	many := raw(ramp(100))
	cases := []struct {
		name string
		ctx  context.Context
		r    io.Reader
		w    io.Writer
		rate float64
		want error
	}{
		{"cancelled", ctx, bytes.NewReader(many), io.Discard, 48000, context.Canceled},
		{"reader", context.Background(), iotest.ErrReader(broken), io.Discard, 48000, broken},
		{"writer", context.Background(), bytes.NewReader(many), writerTo(broken), 48000, broken},
		{"part of a frame", context.Background(), bytes.NewReader(many[:len(many)-3]), io.Discard, 48000, io.ErrUnexpectedEOF},
	}
	for _, c := range cases {
		if err := newCard(t, Config{}).Filter(c.ctx, c.r, c.w, c.rate); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
	nan := raw([]float64{0, math.NaN()})
	if err := newCard(t, Config{}).Filter(context.Background(), bytes.NewReader(nan), io.Discard, 48000); err == nil || !strings.Contains(err.Error(), "sample 1") {
		t.Errorf("not a number: %v", err)
	}
	if err := newCard(t, Config{}).Filter(context.Background(), nil, nil, 0); err == nil {
		t.Error("a rate of 0 was taken")
	}
}

// writerTo is a writer that fails.
func writerTo(err error) io.Writer { return failing{err} }

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

func ExampleCard_Filter() {
	card, err := New(Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := card.Insert("load"); err != nil {
		fmt.Println(err)
		return
	}
	drive := make([]float64, 200)
	for i := range drive {
		drive[i] = 0.5
	}
	var heard bytes.Buffer
	if err := card.Filter(context.Background(), bytes.NewReader(raw(drive)), &heard, 48000); err != nil {
		fmt.Println(err)
		return
	}
	last := heard.Bytes()[199*frameBytes:]
	fmt.Printf("%d bytes, the last frame: %.4f %.4f\n", heard.Len(),
		math.Float32frombits(binary.LittleEndian.Uint32(last)), math.Float32frombits(binary.LittleEndian.Uint32(last[4:])))
	// Output:
	// 1600 bytes, the last frame: 0.5000 0.2500
}
