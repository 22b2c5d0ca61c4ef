package audio_test

import (
	"fmt"
	"slices"
	"testing"

	"example.org/wheatear/audio"
)

func TestInterleave(t *testing.T) {
	channels := [][]float64{{1, 2, 3, 4}, {10, 20, 30, 40}, {0.1, 0.2, 0.3, 0.4}}
	got := audio.Interleave([]float64{7}, channels, 1, 3)
	if want := []float64{7, 2, 20, 0.2, 3, 30, 0.3}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := audio.Interleave(nil, channels, 2, 2); len(got) != 0 {
		t.Errorf("no frames gave %v", got)
	}
	if got := audio.Interleave(nil, nil, 0, 3); len(got) != 0 {
		t.Errorf("no channels gave %v", got)
	}
}

func TestDeinterleave(t *testing.T) {
	dst := [][]float64{{1}, {10}}
	audio.Deinterleave(dst, []float64{2, 20, 3, 30, 4}) // the last frame is not whole
	if want := []float64{1, 2, 3}; !slices.Equal(dst[0], want) {
		t.Errorf("channel 1 is %v, want %v", dst[0], want)
	}
	if want := []float64{10, 20, 30}; !slices.Equal(dst[1], want) {
		t.Errorf("channel 2 is %v, want %v", dst[1], want)
	}
	audio.Deinterleave(nil, []float64{1, 2}) // nowhere to put them
}

func TestFrames(t *testing.T) {
	if n := (&audio.Record{}).Frames(); n != 0 {
		t.Errorf("a record without channels has %d frames, want 0", n)
	}
	if n := (&audio.Record{Channels: make([][]float64, 2)}).Frames(); n != 0 {
		t.Errorf("empty channels have %d frames, want 0", n)
	}
}

func ExampleDeinterleave() {
	rec := audio.Record{RateHz: 48000, Channels: make([][]float64, 2)}
	audio.Deinterleave(rec.Channels, []float64{0.1, 0.9, 0.2, 0.8})
	fmt.Println(rec.Frames(), rec.Channels)
	fmt.Println(audio.Interleave(nil, rec.Channels, 0, rec.Frames()))
	// Output:
	// 2 [[0.1 0.2] [0.9 0.8]]
	// [0.1 0.9 0.2 0.8]
}
