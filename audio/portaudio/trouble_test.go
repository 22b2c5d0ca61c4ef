package portaudio

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"go.uber.org/goleak"
)

// slack is how much longer a busy machine may take than one at rest.
const slack = 4

// took fails the test if what began then was not over within three seconds.
func took(t *testing.T, began time.Time) {
	t.Helper()
	if d := time.Since(began); d > slack*3*time.Second {
		t.Errorf("it took %v", d)
	}
}

// isLost wants the end of a run whose device has gone.
func isLost(t *testing.T, rec *audio.Record, err error) {
	t.Helper()
	var device *audio.DeviceError
	if !errors.Is(err, audio.ErrLost) || !errors.Is(err, audio.ErrCutShort) || !errors.As(err, &device) {
		t.Fatalf("got %v", err)
	}
	if !strings.Contains(err.Error(), "the device stopped delivering (unplugged, or the sound server ended)") {
		t.Errorf("the text is %q", err)
	}
	if rec.Frames() == 0 || rec.Events[len(rec.Events)-1].Kind != audio.Truncated {
		t.Errorf("%d frames, events %v", rec.Frames(), rec.Events)
	}
}

func TestCallsStop(t *testing.T) {
	d := threeDevices()
	d.dieAfter.Store(20)
	c := openScripted(t, d, Options{Input: "card"})
	began := time.Now()
	rec, err := c.Run(context.Background(), audio.Config{Frames: 480000}, nil)
	took(t, began)
	isLost(t, rec, err)
	// What the library listed may be gone, so it must look again.
	d.dieAfter.Store(0)
	if _, err := c.Run(context.Background(), audio.Config{Frames: 100}, nil); err != nil {
		t.Error(err)
	}
	if _, lists, _ := d.state(); lists != 2 {
		t.Errorf("the devices were listed %d times, want 2", lists)
	}
}

// TestGoneBetweenRuns: a device that delivered and cannot be opened any more is gone,
// whatever the driver blames; a rate that it lacks is still only that.
func TestGoneBetweenRuns(t *testing.T) {
	d := threeDevices()
	c := openScripted(t, d, Options{Input: "jig"})
	run := func(rateHz float64) error {
		_, err := c.Run(context.Background(), audio.Config{RateHz: rateHz, Frames: 4800}, nil)
		return err
	}
	d.rate, d.fail = 48000, errors.New("Illegal combination of I/O devices")
	if err := run(44100); !errors.Is(err, audio.ErrRate) || errors.Is(err, audio.ErrLost) {
		t.Errorf("before the first run, another rate: %v", err)
	}
	if err := run(48000); err != nil {
		t.Fatal(err)
	}
	if err := run(44100); !errors.Is(err, audio.ErrRate) || errors.Is(err, audio.ErrLost) {
		t.Errorf("another rate: %v", err)
	}
	if err := run(48000); err != nil {
		t.Fatal(err)
	}
	d.rate = -1
	if err := run(48000); !errors.Is(err, audio.ErrLost) || !strings.Contains(err.Error(), "stopped delivering") {
		t.Errorf("the device is gone: %v", err)
	}
}

func TestNeverBegins(t *testing.T) {
	d := threeDevices()
	d.deaf = true
	c := openScripted(t, d, Options{Input: "card"})
	began := time.Now()
	rec, err := c.Run(context.Background(), audio.Config{}, nil)
	took(t, began)
	if rec != nil || !errors.Is(err, audio.ErrLost) || errors.Is(err, audio.ErrCutShort) || !strings.Contains(err.Error(), "never began") {
		t.Errorf("got %v", err)
	}
}

// Closing that hangs must not keep the record back, nor the next error.
func TestCloseHangs(t *testing.T) {
	before := goleak.IgnoreCurrent()
	d := threeDevices()
	d.dieAfter.Store(20)
	d.hangClose = make(chan struct{})
	lib := newLibrary(d)
	c, err := open(context.Background(), lib, Options{Input: "jig", Patience: 200 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	rec, err := c.Run(context.Background(), audio.Config{Frames: 480000}, nil)
	took(t, began)
	isLost(t, rec, err)
	if !errors.Is(err, audio.ErrTimeout) || !strings.Contains(err.Error(), "closing jig has not returned") {
		t.Errorf("the text does not say that closing hangs: %v", err)
	}
	goleak.VerifyNone(t, before, goleak.IgnoreAnyFunction("example.org/wheatear/audio/portaudio.(*run).closeStreams"))

	began = time.Now()
	_, err = c.Run(context.Background(), audio.Config{}, nil)
	took(t, began)
	if !errors.Is(err, audio.ErrTimeout) || !strings.Contains(err.Error(), "closing jig") {
		t.Errorf("the next run gave %v", err)
	}
	if _, err = list(context.Background(), lib, Options{Patience: 10 * time.Millisecond}); !errors.Is(err, audio.ErrTimeout) {
		t.Errorf("listing meanwhile gave %v", err)
	}

	close(d.hangClose) // and if it returns after all, everything is as before
	d.dieAfter.Store(0)
	if _, err := c.Run(context.Background(), audio.Config{Frames: 100}, nil); err != nil {
		t.Error(err)
	}
	if err := c.Close(); err != nil {
		t.Error(err)
	}
	if started, _, opened := d.state(); started != 0 || opened != 0 {
		t.Errorf("the library is started %d times and has %d streams at the end", started, opened)
	}
	goleak.VerifyNone(t, before)
}

// A library that hangs while it starts or opens is given up; when it is done after
// all, it is put away again.
func TestStartHangs(t *testing.T) {
	for _, at := range []string{"initialize", "open"} {
		t.Run(at, func(t *testing.T) {
			before := goleak.IgnoreCurrent()
			d := threeDevices()
			hang := make(chan struct{})
			if at == "initialize" {
				d.hangStart = hang
			} else {
				d.hangOpen = hang
			}
			began := time.Now()
			c, err := open(context.Background(), newLibrary(d), Options{Input: "jig", Patience: 50 * time.Millisecond})
			if err == nil {
				_, err = c.Run(context.Background(), audio.Config{}, nil)
			}
			if d := time.Since(began); d > slack*time.Second {
				t.Errorf("it took %v", d)
			}
			if !errors.Is(err, audio.ErrTimeout) || errors.Is(err, audio.ErrCutShort) {
				t.Errorf("got %v", err)
			}
			close(hang)
			if c != nil {
				if err := c.Close(); err != nil {
					t.Error(err)
				}
			}
			goleak.VerifyNone(t, before)
			if started, _, opened := d.state(); started != 0 || opened != 0 {
				t.Errorf("the library is started %d times and has %d streams at the end", started, opened)
			}
		})
	}
}

// A process that was stopped itself, by a debugger or a closed lid, must not take
// the first look after it for a device that is gone.
func TestWatchdogCountsOwnSleepOnce(t *testing.T) {
	var s side
	s.calls.Store(5)
	d := &watchdog{side: &s, device: "x"}
	for range 9 {
		if err := d.look(min(time.Hour, longestWait)); err != nil {
			t.Fatal(err)
		}
	}
	s.calls.Store(6)
	if err := d.look(longestWait); err != nil || d.idle != 0 {
		t.Errorf("a call did not count: %v, idle %v", err, d.idle)
	}
	var err error
	for range 10 {
		err = d.look(longestWait)
	}
	if !errors.Is(err, audio.ErrLost) {
		t.Errorf("after a second without a call: %v", err)
	}
}

func TestTranslate(t *testing.T) {
	for text, want := range map[string]error{
		"Device unavailable":            audio.ErrBusy,
		"Device or resource busy":       audio.ErrBusy,
		"Permission denied":             audio.ErrDenied,
		"Operation not permitted":       audio.ErrDenied,
		"No such device":                audio.ErrLost,
		"Connection refused":            audio.ErrLost,
		"Invalid sample rate":           audio.ErrRate,
		"Invalid number of channels":    audio.ErrChannels,
		"Illegal combination of I/O":    nil,
		"Internal PortAudio error code": nil,
	} {
		raw := errors.New(text)
		err := translate(raw)
		if !errors.Is(err, raw) || !strings.Contains(err.Error(), text) || (want != nil && !errors.Is(err, want)) {
			t.Errorf("%q became %v", text, err)
		}
		if want == nil && err != raw {
			t.Errorf("%q became %v without need", text, err)
		}
	}
	for _, mute := range []error{errors.New(""), errors.New("unknown error")} {
		if err := translate(mute); !errors.Is(err, mute) || !strings.HasPrefix(err.Error(), "the driver refuses without saying why") {
			t.Errorf("an error that says nothing, %q, became %q", mute, err)
		}
	}
	if translate(nil) != nil {
		t.Error("no error became one")
	}
}
