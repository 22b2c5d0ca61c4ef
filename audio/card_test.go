package audio_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/audio"
)

func TestConfigDefaults(t *testing.T) {
	got, err := audio.Config{}.WithDefaults(1000)
	if err != nil {
		t.Fatal(err)
	}
	if got.RateHz != 48000 || got.Frames != 1000+24000 || got.BlockFrames != 1024 ||
		!slices.Equal(got.Inputs, []int{1, 2}) || !slices.Equal(got.Outputs, []int{1, 2}) {
		t.Errorf("got %+v", got)
	}
	again, err := got.WithDefaults(5)
	if err != nil || again.Frames != got.Frames {
		t.Errorf("filled in twice: %+v, %v", again, err)
	}
}

// The caller may go on using the slices of the config that was passed.
func TestConfigIsACopy(t *testing.T) {
	in := []int{2, 1}
	got, err := audio.Config{Inputs: in}.WithDefaults(1)
	if err != nil {
		t.Fatal(err)
	}
	in[0] = 7
	if got.Inputs[0] != 2 {
		t.Errorf("the inputs are shared: %v", got.Inputs)
	}
}

func TestConfigRefuses(t *testing.T) {
	cases := []struct {
		cfg  audio.Config
		want string // what the message must name
	}{
		{audio.Config{RateHz: -1}, "-1 Hz"},
		{audio.Config{RateHz: math.NaN()}, "NaN Hz"},
		{audio.Config{RateHz: math.Inf(1)}, "+Inf Hz"},
		{audio.Config{RateHz: 48}, "48 Hz"}, // kilohertz by mistake
		{audio.Config{Frames: -5}, "-5 frames"},
		{audio.Config{Frames: math.MaxInt}, "frames to record"},
		{audio.Config{BlockFrames: -1}, "blocks of -1"},
		{audio.Config{Inputs: []int{}}, "no input channel"},
		{audio.Config{Inputs: []int{0}}, "input channel 0"},
		{audio.Config{Inputs: []int{2, 2}}, "input channel 2 named twice"},
		{audio.Config{Outputs: []int{-1}}, "output channel -1"},
	}
	for _, c := range cases {
		_, err := c.cfg.WithDefaults(10)
		if !errors.Is(err, audio.ErrConfig) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v gave %v, want an error of settings naming %q", c.cfg, err, c.want)
		}
	}
}

func TestCutShort(t *testing.T) {
	rec := &audio.Record{Channels: [][]float64{{1, 2, 3}}}
	kept, err := audio.CutShort(rec, 10, context.Canceled)
	if kept != rec || !errors.Is(err, audio.ErrCutShort) || !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v, %v", kept, err)
	}
	if e := rec.Events; len(e) != 1 || e[0].Kind != audio.Truncated || e[0].Frame != 3 {
		t.Errorf("events %v", e)
	}
	for _, empty := range []*audio.Record{nil, {}, {Channels: make([][]float64, 2)}} {
		kept, err = audio.CutShort(empty, 10, audio.ErrLost)
		if kept != nil || errors.Is(err, audio.ErrCutShort) || !errors.Is(err, audio.ErrLost) {
			t.Errorf("with no frames got %v, %v", kept, err)
		}
	}
}

func TestDeviceError(t *testing.T) {
	err := fmt.Errorf("outer: %w", &audio.DeviceError{Op: "open", Device: "line in", Err: audio.ErrBusy})
	var device *audio.DeviceError
	if !errors.As(err, &device) || !errors.Is(err, audio.ErrBusy) {
		t.Fatalf("%v does not unwrap", err)
	}
	if got := device.Error(); got != `audio: open "line in": device busy` {
		t.Errorf("got %s", got)
	}
	none := &audio.DeviceError{Op: "list", Err: audio.ErrNoDevice}
	if got := none.Error(); got != "audio: list: no such device" {
		t.Errorf("got %s", got)
	}
}

func ExampleCutShort() {
	rec := &audio.Record{RateHz: 48000, Channels: [][]float64{make([]float64, 480), make([]float64, 480)}}
	kept, err := audio.CutShort(rec, 48000, audio.ErrLost)
	fmt.Println(kept.Frames(), errors.Is(err, audio.ErrCutShort))
	fmt.Println(err)
	// Output:
	// 480 true
	// audio: run cut short after 480 of 48000 frames: device gone
}

func ExampleConfig_WithDefaults() {
	cfg, err := audio.Config{RateHz: 96000, Inputs: []int{3, 4}}.WithDefaults(96000)
	fmt.Println(cfg.Frames, cfg.Inputs, cfg.Outputs, err)
	// Output:
	// 144000 [3 4] [1 2] <nil>
}
