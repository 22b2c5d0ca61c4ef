//go:build portaudio && cgo && linux

package portaudio

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"example.org/wheatear/audio/portaudio/servertest"
)

// startPulse starts a server with the jig between its sinks.
func startPulse(t *testing.T, o servertest.PulseOptions) (*servertest.PulseServer, *servertest.Jig) {
	t.Helper()
	s := servertest.Pulse(t, o)
	return s, s.StartJig(48000, []string{asJig + "=1"}, os.Args[0])
}

func TestPulseClean(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	c := openCard(t, Options{Input: s.Device})
	for range 2 { // one run after another
		rec := unbroken(t, c, audio.Config{}, sine(1000, 48000, 0.5, 2*48000), 1.8)
		// float32 all the way: 2^-24 for each sample, far less for the tone
		checkTone(t, rec, 1.8, 1e-6)
		if db := residueDB(settled(t, rec, 1, 1.8), 1000, 48000); db > -140 {
			t.Errorf("the rest is %.0f dB below the tone, want 150", -db)
		}
		if !hasEvent(rec, audio.Remark, s.Device+" records 2 channels at 48000 Hz") || !hasEvent(rec, audio.Remark, "default rate is 44100") {
			t.Errorf("events %v", rec.Events)
		}
	}
}

// The simulated jig as a process of its own gives what it gives when asked
// directly: between them are only the sound server and this package.
func TestPulseSimulatedJig(t *testing.T) {
	s := servertest.Pulse(t, servertest.PulseOptions{})
	s.StartJig(48000, []string{asSimulation + "=1"}, os.Args[0])
	c := openCard(t, Options{Input: s.Device})
	rec := unbroken(t, c, audio.Config{}, sine(1000, 48000, 0.5, 2*48000), 1.8)
	got := ratio(t, rec, 1.8)

	direct, err := simulation()
	if err != nil {
		t.Fatal(err)
	}
	rec, err = direct.Run(context.Background(), audio.Config{}, sine(1000, 48000, 0.5, 2*48000))
	if err != nil {
		t.Fatal(err)
	}
	if want := ratio(t, rec, 1.8); cmplx.Abs(got-want) > 1e-6*cmplx.Abs(want) {
		t.Errorf("ratio %.7f through the server, %.7f directly", got, want)
	}
}

func TestPulseContract(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	audiotest.TestCard(t, func() (audio.Card, error) {
		c, err := Open(context.Background(), Options{Input: s.Device})
		if err == nil {
			t.Cleanup(func() { c.Close() })
		}
		return c, err
	}, audiotest.Options{CancelAfter: 800 * time.Millisecond})
}

// The server converts without a word; only the residue of the tone tells.
func TestPulseConverts(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	c := openCard(t, Options{Input: s.Device})
	rec := unbroken(t, c, audio.Config{RateHz: 44100}, sine(1000, 44100, 0.5, 2*44100), 1.5)
	if rec.RateHz != 44100 {
		t.Errorf("the record is at %g Hz", rec.RateHz)
	}
	checkTone(t, rec, 1.5, 2e-3) // the server's own filter is off by 1e-4 here, measured
	if db := residueDB(settled(t, rec, 1, 1.5), 1000, 44100); db < -110 {
		t.Errorf("the rest is %.0f dB below the tone: nothing was converted", -db)
	}
	if !hasEvent(rec, audio.Remark, "may convert the rate") {
		t.Errorf("nothing warns of a conversion: %v", rec.Events)
	}
}

// A source of one channel gives its signal twice; only the data can tell.
func TestPulseMonoInput(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{InputChannels: 1})
	c := openCard(t, Options{Input: s.Device})
	rec := unbroken(t, c, audio.Config{}, sine(1000, 48000, 0.5, 48000), 0.8)
	for i, x := range rec.Channels[0] {
		if x != rec.Channels[1][i] {
			t.Fatalf("frame %d: %g and %g", i, x, rec.Channels[1][i])
		}
	}
	want := cmplx.Abs(jigRatio()+1) / 2 * 0.25 // the mean of both
	if got := cmplx.Abs(phasor(settled(t, rec, 0, 0.8), 1000, 48000, 0)); math.Abs(got-want) > 1e-4 {
		t.Errorf("level %.6f, want the mean of both signals, %.6f", got, want)
	}
}

func TestPulseKilled(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	c := openCard(t, Options{Input: s.Device})
	rec, took, err := during(t, c, s.Kill)
	isLost(t, rec, err)
	if took > slack*3*time.Second {
		t.Errorf("it took %v", took)
	}
	began := time.Now()
	if _, err := c.Run(context.Background(), audio.Config{}, nil); err == nil || time.Since(began) > slack*3*time.Second {
		t.Errorf("without a server: %v after %v", err, time.Since(began))
	}
	s.Restart()
	if _, err := c.Run(context.Background(), audio.Config{Frames: 4800}, nil); err != nil {
		t.Errorf("with the server back: %v", err)
	}
}

func TestPulseUnplugged(t *testing.T) {
	for _, sink := range []string{servertest.InputSink, servertest.OutputSink} {
		t.Run(sink, func(t *testing.T) {
			s, _ := startPulse(t, servertest.PulseOptions{})
			c := openCard(t, Options{Input: s.Device})
			rec, took, err := during(t, c, func() { s.Unplug(sink) })
			isLost(t, rec, err)
			if took > 3*time.Second {
				t.Errorf("it took %v", took)
			}
		})
	}
}

// A server may move a stream in silence from a device that goes to another one;
// here it moves the jig along, so the tone goes on. The driver has no word for it,
// and only the break in the tone tells.
func TestPulseMovedAway(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{Rescue: true})
	c := openCard(t, Options{Input: s.Device})
	rec, _, err := during(t, c, func() { s.Unplug(servertest.InputSink) })
	if err != nil {
		t.Fatal(err)
	}
	if n := breaks(blocks(settled(t, rec, 1, 3), 1000, 48000, 480)); n == 0 {
		t.Error("the tone is whole: the stream was not moved")
	}
}

// A server that sleeps for less than the watchdog waits loses samples; the missing
// calls tell where.
func TestPulseFrozen(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	c := openCard(t, Options{Input: s.Device})
	rec, _, err := during(t, c, func() {
		s.Signal(syscall.SIGSTOP)
		time.Sleep(600 * time.Millisecond)
		s.Signal(syscall.SIGCONT)
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range rec.Events {
		if strings.Contains(e.Detail, "after the time before") && e.Frame > 40000 && e.Frame < 70000 {
			return
		}
	}
	t.Errorf("nothing tells that the server slept: %v", rec.Events)
}

// The jig's process stops for 0.3 s: there are zeros in the data and no word of it.
func TestPulseJigFrozen(t *testing.T) {
	s, jig := startPulse(t, servertest.PulseOptions{})
	c := openCard(t, Options{Input: s.Device})
	rec, _, err := during(t, c, func() { jig.Freeze(300 * time.Millisecond) })
	if err != nil {
		t.Fatal(err)
	}
	from := 48000 // the tone is there
	if n := zeros(rec.Channels[1], from); n < 2400 {
		t.Errorf("the longest run of zeros is %d frames, want 0.05 s or more", n)
	}
}

// Our own input call sleeps: the server keeps what comes meanwhile, so the tone is
// whole, and the record says that the call was late.
func TestPulseOwnStall(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	c, err := open(context.Background(), newLibrary(stalling{native{}}), Options{Input: s.Device})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	rec := unbroken(t, c, audio.Config{}, sine(1000, 48000, 0.5, 3*48000), 2.8)
	if !hasEvent(rec, audio.Remark, "the input was served") {
		t.Errorf("nothing tells of the late call: %v", rec.Events)
	}
	if hasEvent(rec, audio.Gap, "") {
		t.Errorf("the tone is whole and a gap is reported: %v", rec.Events)
	}
}

func TestPulseList(t *testing.T) {
	s := servertest.Pulse(t, servertest.PulseOptions{})
	var log strings.Builder
	var list []Device
	terminal := spy(t, func() {
		var err error
		if list, err = List(context.Background(), Options{Log: &log, Rates: true}); err != nil {
			t.Error(err)
		}
	})
	if terminal != "" {
		t.Errorf("on the terminal: %q", terminal)
	}
	card, err := Choose(list, s.Device, Either)
	if err != nil || card.API != "ALSA" || card.Inputs != 32 || len(card.RatesHz) < 8 {
		t.Errorf("got %+v, %v", card, err)
	}
	if _, err := Choose(list, "wheatear", Either); !errors.Is(err, ErrAmbiguous) {
		t.Errorf("two cards have that part: %v", err)
	}
	if _, err := Open(context.Background(), Options{Input: "no such card"}); !errors.Is(err, audio.ErrNoDevice) || !strings.Contains(err.Error(), s.Device) {
		t.Errorf("a name that does not exist: %v", err)
	}
}

// Each of several cards is reached by its own name.
func TestPulseOtherCard(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	c := openCard(t, Options{Input: "spare"})
	rec := unbroken(t, c, audio.Config{}, sine(1000, 48000, 0.5, 48000), 0.8)
	if got := cmplx.Abs(phasor(settled(t, rec, 0, 0.8), 1000, 48000, 0)); math.Abs(got-0.5) > 1e-4 || !strings.Contains(rec.Source, s.Spare) {
		t.Errorf("%s: level %.6f, want what was played, 0.5", rec.Source, got)
	}
}

// Two devices work together, and the record says that they are two.
func TestPulsePair(t *testing.T) {
	s, _ := startPulse(t, servertest.PulseOptions{})
	c := openCard(t, Options{Input: s.Ears, Output: s.Device})
	rec := unbroken(t, c, audio.Config{}, sine(1000, 48000, 0.5, 48000), 0.8)
	checkTone(t, rec, 0.8, 1e-6)
	if !hasEvent(rec, audio.Remark, "two devices with clocks of their own") {
		t.Errorf("events %v", rec.Events)
	}
}

// No server and no card: a list of nothing, and words for it.
func TestNoDevice(t *testing.T) {
	if _, err := os.Stat("/dev/snd"); err == nil {
		t.Skip("this machine has a sound card")
	}
	s := servertest.Pulse(t, servertest.PulseOptions{})
	s.Kill()
	began := time.Now()
	list, err := List(context.Background(), Options{})
	if err != nil || len(list) != 0 {
		t.Errorf("got %v, %v", list, err)
	}
	if _, err := Open(context.Background(), Options{}); !errors.Is(err, ErrNone) {
		t.Errorf("got %v", err)
	}
	took(t, began)
}
