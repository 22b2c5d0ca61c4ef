package portaudio

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"go.uber.org/goleak"
)

var (
	jackDevice = Device{Number: 0, API: "JACK Audio Connection Kit", Name: "jig", Inputs: 2, Outputs: 2, DefaultInput: true}
	alsaDevice = Device{Number: 1, API: "ALSA", Name: "card (hw:0,0)", Inputs: 2, Outputs: 2}
	monoDevice = Device{Number: 2, API: "ALSA", Name: "mono microphone", Inputs: 1, Outputs: 1}
)

func threeDevices() *scripted { return &scripted{list: []Device{jackDevice, alsaDevice, monoDevice}} }

// openScripted opens a device of a scripted library, and checks at the end that
// nothing is left.
func openScripted(t *testing.T, d *scripted, o Options) *Card {
	t.Helper()
	c, err := open(context.Background(), newLibrary(d), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
		if started, _, opened := d.state(); started != 0 || opened != 0 {
			t.Errorf("the library is started %d times and has %d streams at the end", started, opened)
		}
		goleak.VerifyNone(t)
	})
	return c
}

func TestCardContract(t *testing.T) {
	for _, name := range []string{"jig", "card"} { // one stream, two streams
		t.Run(name, func(t *testing.T) {
			lib := newLibrary(threeDevices())
			audiotest.TestCard(t, func() (audio.Card, error) {
				return open(context.Background(), lib, Options{Input: name})
			}, audiotest.Options{LongSeconds: 20, CancelAfter: 300 * time.Millisecond})
		})
	}
}

// What is played comes back, one block later here, and the record says what it is.
func TestRunHearsItself(t *testing.T) {
	c := openScripted(t, threeDevices(), Options{Input: "jig"})
	stimulus := sine(1000, 48000, 0.5, 4800)
	rec, err := c.Run(context.Background(), audio.Config{Frames: 9600}, stimulus)
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range stimulus {
		if got := rec.Channels[1][blockFrames+i]; got != float64(float32(x)) {
			t.Fatalf("frame %d is %g, want %g", blockFrames+i, got, x)
		}
	}
	if rec.RateHz != 48000 || rec.Bits != 0 || rec.Source != jackDevice.FullName() {
		t.Errorf("rate %g, bits %d, source %q", rec.RateHz, rec.Bits, rec.Source)
	}
	if !hasEvent(rec, audio.Remark, "48000 Hz") || !hasEvent(rec, audio.Remark, "tells nothing of the converter") {
		t.Errorf("the record does not say what was opened: %v", rec.Events)
	}
}

func hasEvent(rec *audio.Record, kind audio.EventKind, part string) bool {
	return slices.ContainsFunc(rec.Events, func(e audio.Event) bool {
		return e.Kind == kind && strings.Contains(e.Detail, part)
	})
}

func TestStreamsByFamily(t *testing.T) {
	cases := []struct {
		in, out Device
		streams int
		clocks  bool // the record must speak of two
	}{
		{jackDevice, jackDevice, 1, false},
		{alsaDevice, alsaDevice, 2, false},
		{alsaDevice, monoDevice, 2, true},
		{jackDevice, alsaDevice, 2, true},
		{jackDevice, Device{Number: 7, API: jackDevice.API, Name: "other", Outputs: 2}, 1, false},
		{Device{API: "Core Audio", Name: "in", Inputs: 2}, Device{API: "Core Audio", Name: "out", Outputs: 2}, 2, true},
		{Device{API: "Windows WASAPI", Name: "x", Inputs: 2, Outputs: 2}, Device{API: "Windows WASAPI", Name: "x", Inputs: 2, Outputs: 2}, 1, false},
	}
	for _, c := range cases {
		cfg, err := audio.Config{}.WithDefaults(1)
		if err != nil {
			t.Fatal(err)
		}
		r := &run{cfg: cfg, grip: grip{in: c.in, out: c.out}, take: newTake(48000, 1, 2, 2, nil, nil)}
		plan := r.plan()
		if len(plan) != c.streams || plan[0].in == nil || plan[0].inCh != 2 || plan[len(plan)-1].out == nil {
			t.Errorf("%v and %v: %d streams, want %d", c.in, c.out, len(plan), c.streams)
		}
		if c.streams == 2 && (plan[0].out != nil || plan[1].in != nil || plan[0].framesPerBuffer == 0) {
			t.Errorf("%v and %v: %+v", c.in, c.out, plan)
		}
		if (len(r.remarks) > 0) != c.clocks {
			t.Errorf("%v and %v: remarks %v", c.in, c.out, r.remarks)
		}
	}
}

// The frames of a call must stay below what a sound server hands over at once.
func TestPeriodAtLowRates(t *testing.T) {
	r := &run{cfg: audio.Config{RateHz: 8000, BlockFrames: 1024}, grip: grip{in: alsaDevice, out: alsaDevice}, take: newTake(8000, 1, 2, 2, nil, nil)}
	if got := r.plan()[0].framesPerBuffer; got != 200 {
		t.Errorf("%d frames in a call at 8 kHz, want 200, which is %v", got, longestPeriod)
	}
}

func TestOpenRefuses(t *testing.T) {
	inOnly := &scripted{list: []Device{{API: "MME", Name: "microphone", Inputs: 2}}}
	cases := []struct {
		d     *scripted
		o     Options
		cause error
		parts []string
	}{
		{threeDevices(), Options{Input: "nothing like it"}, audio.ErrNoDevice, []string{"nothing like it", "jig", "mono microphone"}},
		{threeDevices(), Options{Input: "jig", Output: "nor this"}, audio.ErrNoDevice, []string{"nor this", "output"}},
		{threeDevices(), Options{Input: "c"}, ErrAmbiguous, []string{"card (hw:0,0)", "mono microphone"}},
		{&scripted{}, Options{}, ErrNone, []string{"/dev/snd"}},
		{inOnly, Options{Input: "microphone"}, audio.ErrChannels, []string{"microphone", "no output"}},
	}
	for _, c := range cases {
		_, err := open(context.Background(), newLibrary(c.d), c.o)
		var device *audio.DeviceError
		if !errors.Is(err, c.cause) || !errors.As(err, &device) {
			t.Errorf("%+v: got %v, want %v", c.o, err, c.cause)
			continue
		}
		for _, part := range c.parts {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%+v: %q lacks %q", c.o, err, part)
			}
		}
		if started, _, _ := c.d.state(); started != 0 {
			t.Errorf("%+v: the library is still started", c.o)
		}
	}
}

func TestOneInputIsRefused(t *testing.T) {
	c := openScripted(t, threeDevices(), Options{Input: "mono"})
	rec, err := c.Run(context.Background(), audio.Config{}, nil)
	if rec != nil || !errors.Is(err, audio.ErrChannels) || !strings.Contains(err.Error(), "mono microphone has 1 input, and input 2") {
		t.Errorf("got %v", err)
	}
	// One output will do, since nobody said which.
	if _, err = c.Run(context.Background(), audio.Config{Inputs: []int{1}, Frames: 100}, nil); err != nil {
		t.Error(err)
	}
	_, err = c.Run(context.Background(), audio.Config{Inputs: []int{1}, Outputs: []int{2}}, nil)
	if !errors.Is(err, audio.ErrChannels) || !strings.Contains(err.Error(), "output 2") {
		t.Errorf("got %v", err)
	}
}

// A driver may call a rate that it lacks something else; the text names those it has.
func TestRateIsExplained(t *testing.T) {
	for _, failure := range []error{errors.New("Invalid device"), translate(errors.New("Invalid sample rate"))} {
		d := threeDevices()
		d.fail, d.rate = failure, 44100
		c := openScripted(t, d, Options{Input: "jig"})
		_, err := c.Run(context.Background(), audio.Config{}, nil)
		if !errors.Is(err, audio.ErrRate) || !strings.Contains(err.Error(), "48000 Hz; the device accepts 44100 Hz") {
			t.Errorf("got %v", err)
		}
		rec, err := c.Run(context.Background(), audio.Config{RateHz: 44100, Frames: 1000}, nil)
		if err != nil || rec.RateHz != 44100 {
			t.Errorf("at the rate that there is: %v", err)
		}
	}
	d := threeDevices()
	d.fail, d.rate = translate(errors.New("Device unavailable")), 1
	c := openScripted(t, d, Options{Input: "jig"})
	if _, err := c.Run(context.Background(), audio.Config{}, nil); !errors.Is(err, audio.ErrBusy) {
		t.Errorf("a busy device gave %v", err)
	}
}

func TestStimulusOutOfRange(t *testing.T) {
	c := openScripted(t, threeDevices(), Options{Input: "jig"})
	for _, x := range []float64{1.0001, -2, math.NaN(), math.Inf(1)} {
		if _, err := c.Run(context.Background(), audio.Config{}, []float64{0, x}); !errors.Is(err, audio.ErrConfig) || !strings.Contains(err.Error(), "sample 1") {
			t.Errorf("a stimulus of %g gave %v", x, err)
		}
	}
}

func TestClosedCard(t *testing.T) {
	c := openScripted(t, threeDevices(), Options{Input: "jig"})
	if err := c.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Run(context.Background(), audio.Config{}, nil); err == nil || !strings.Contains(err.Error(), "closed") {
		t.Errorf("a run of a closed card gave %v", err)
	}
}
