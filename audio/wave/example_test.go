package wave_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/wave"
)

// A record is written with 24 bits and read back.
func Example() {
	rec := &audio.Record{RateHz: 48000, Channels: [][]float64{{0, 0.5, 0.25}, {0, -0.125, -1}}}
	var file bytes.Buffer
	clipped, err := wave.WriteAll(&file, rec, 24, false)
	if err != nil {
		fmt.Println(err)
		return
	}
	got, err := wave.ReadAll(&file, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(clipped, "clipped")
	fmt.Println(got.RateHz, "Hz,", got.Frames(), "frames,", got.Bits, "bits")
	fmt.Println(got.Channels[0], got.Channels[1])
	// Output:
	// 0 clipped
	// 48000 Hz, 3 frames, 24 bits
	// [0 0.5 0.25] [0 -0.125 -1]
}

// A file that a recorder was killed over is read as a stream, as far as it goes.
func ExampleReader_Events() {
	var file bytes.Buffer
	w, _ := wave.NewWriter(&file, wave.Format{RateHz: 48000, Channels: 2, Bits: 16})
	_ = w.Write(make([]float64, 2*1000))
	file.Truncate(file.Len() - 1)

	r, err := wave.NewReader(&file)
	if err != nil {
		fmt.Println(err)
		return
	}
	total, block := 0, make([]float64, 2*256)
	for err == nil {
		var n int
		n, err = r.Read(block)
		total += n
	}
	fmt.Println(total, "frames,", err == io.EOF)
	for _, e := range r.Events() {
		fmt.Println(e.Kind+":", e.Detail)
	}
	// Output:
	// 999 frames, true
	// remark: the header leaves the length open (0xffffffff); length taken from the file's end
	// truncated: the last frame has only 3 of 4 bytes and is dropped
}

func ExampleFormatError() {
	_, err := wave.NewReader(bytes.NewReader([]byte("RIFF\x04\x00\x00\x00AVI ")))
	var at *wave.FormatError
	fmt.Println(errors.As(err, &at), errors.Is(err, wave.ErrNotWave))
	fmt.Println(err)
	// Output:
	// true true
	// wave: byte 8: not a RIFF/WAVE file: RIFF of kind "AVI "
}
