//go:build portaudio && cgo && linux

package portaudio

import (
	"bufio"
	"context"
	"errors"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"example.org/wheatear/audio/portaudio/servertest"
)

// theJig is what runJig computes.
var theJig = []servertest.FirstOrder{{B0: jigPole, A1: jigPole - 1}, {B0: 0.5}}

func startJack(t *testing.T, o servertest.JackOptions) *servertest.JackServer {
	t.Helper()
	s := servertest.Jack(t, o)
	s.StartJig("jig", theJig...)
	return s
}

// With JACK every sample comes back, one period later, in every run.
func TestJackExact(t *testing.T) {
	startJack(t, servertest.JackOptions{})
	c := openCard(t, Options{Input: "JACK: jig"})
	stimulus := sine(1000, 48000, 0.5, 48000)
	for range 2 {
		rec := unbroken(t, c, audio.Config{}, stimulus, 0.9)
		for i, x := range stimulus {
			if got, want := rec.Channels[1][1024+i], float64(float32(0.5*float64(float32(x)))); got != want {
				t.Fatalf("frame %d is %g, want %g", 1024+i, got, want)
			}
		}
		checkTone(t, rec, 0.9, 1e-6)
	}
}

func TestJackContract(t *testing.T) {
	startJack(t, servertest.JackOptions{})
	audiotest.TestCard(t, func() (audio.Card, error) {
		c, err := Open(context.Background(), Options{Input: "jig"})
		if err == nil {
			t.Cleanup(func() { c.Close() })
		}
		return c, err
	}, audiotest.Options{CancelAfter: 800 * time.Millisecond})
}

// Our own call sleeps, and this server does not wait: samples are lost, and the
// driver and the late call both say where.
func TestJackOwnStall(t *testing.T) {
	startJack(t, servertest.JackOptions{})
	c, err := open(context.Background(), newLibrary(stalling{native{}}), Options{Input: "jig"})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	rec, err := c.Run(context.Background(), audio.Config{}, sine(1000, 48000, 0.5, 3*48000))
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []audio.EventKind{audio.Overflow, audio.Underflow, audio.Gap} {
		if !slices.ContainsFunc(rec.Events, func(e audio.Event) bool {
			return e.Kind == kind && e.Frame > 70000 && e.Frame < 80000
		}) {
			t.Errorf("no %s near frame 73000: %v", kind, rec.Events)
		}
	}
	if n := breaks(blocks(settled(t, rec, 1, 2.8), 1000, 48000, 480)); n == 0 {
		t.Error("the tone is whole")
	}
}

// A rate that the device lacks is named, with the one it has.
func TestJackRate(t *testing.T) {
	startJack(t, servertest.JackOptions{})
	c := openCard(t, Options{Input: "jig"})
	began := time.Now()
	_, err := c.Run(context.Background(), audio.Config{RateHz: 44100}, nil)
	took(t, began)
	var device *audio.DeviceError
	if !errors.Is(err, audio.ErrRate) || !errors.As(err, &device) || !strings.Contains(err.Error(), "44100 Hz; the device accepts 48000 Hz") {
		t.Errorf("got %v", err)
	}
}

// Both signals must come from one converter, so a device of one input is refused.
func TestJackOneInput(t *testing.T) {
	s := servertest.Jack(t, servertest.JackOptions{})
	s.StartJig("narrow", theJig[1])
	c := openCard(t, Options{Input: "narrow"})
	_, err := c.Run(context.Background(), audio.Config{}, nil)
	if !errors.Is(err, audio.ErrChannels) || !strings.Contains(err.Error(), "narrow has 1 input, and input 2 is asked for") {
		t.Errorf("got %v", err)
	}
	rec, err := c.Run(context.Background(), audio.Config{Inputs: []int{1}}, sine(1000, 48000, 0.5, 9600))
	if err != nil || len(rec.Channels) != 1 || zeros(rec.Channels[0], 0) == rec.Frames() {
		t.Errorf("the one input alone: %v", err)
	}
}

func TestJackAtAnotherRate(t *testing.T) {
	startJack(t, servertest.JackOptions{RateHz: 44100})
	c := openCard(t, Options{Input: "jig"})
	rec := unbroken(t, c, audio.Config{RateHz: 44100}, sine(1000, 44100, 0.5, 44100), 0.9)
	if db := residueDB(settled(t, rec, 1, 0.9), 1000, 44100); db > -140 || rec.RateHz != 44100 {
		t.Errorf("at %g Hz the rest is %.0f dB below the tone, want 150", rec.RateHz, -db)
	}
}

// The dummy card hears exact zeros, as a muted or unconnected input does.
func TestJackSilence(t *testing.T) {
	startJack(t, servertest.JackOptions{})
	c := openCard(t, Options{Input: "system"})
	rec, err := c.Run(context.Background(), audio.Config{}, sine(1000, 48000, 0.5, 9600))
	if err != nil {
		t.Fatal(err)
	}
	for ch := range rec.Channels {
		if n := zeros(rec.Channels[ch], 0); n != rec.Frames() {
			t.Errorf("channel %d has a sample that is not zero after %d", ch+1, n)
		}
	}
}

// Two devices of one server have one clock: no word of two.
func TestJackPair(t *testing.T) {
	s := startJack(t, servertest.JackOptions{})
	s.StartJig("other", theJig...)
	c := openCard(t, Options{Input: "jig", Output: "other"})
	rec, err := c.Run(context.Background(), audio.Config{}, sine(1000, 48000, 0.5, 9600))
	if err != nil {
		t.Fatal(err)
	}
	if hasEvent(rec, audio.Remark, "clocks") {
		t.Errorf("events %v", rec.Events)
	}
	if n := zeros(rec.Channels[0], 0); n != rec.Frames() {
		t.Error("what was played to the other device came back from this one")
	}
	if _, err := Open(context.Background(), Options{Input: "JACK"}); err == nil {
		t.Error("the API's name alone was taken for a device")
	}
}

// The device goes while the server stays: the driver goes on with exact zeros.
func TestJackUnplugged(t *testing.T) {
	s := servertest.Jack(t, servertest.JackOptions{})
	jig := s.StartJig("jig", theJig...)
	c := openCard(t, Options{Input: "jig"})
	rec, _, err := during(t, c, jig.Kill)
	if err != nil {
		isLost(t, rec, err)
		return
	}
	if n := zeros(rec.Channels[1], 48000); n < 48000 {
		t.Errorf("the longest run of zeros is %d frames", n)
	}
}

// JACK's library never returns from closing once its server was killed. A process
// of its own meets that, must keep its record and must end.
func TestJackKilled(t *testing.T) {
	s := startJack(t, servertest.JackOptions{})
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	victim := exec.CommandContext(ctx, os.Args[0])
	victim.Env = append(os.Environ(), asVictim+"=jig")
	out, err := victim.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := victim.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	if !lines.Scan() || lines.Text() != "running" {
		t.Fatalf("the run did not begin: %q", lines.Text())
	}
	began := time.Now()
	s.Kill()
	var last string
	for lines.Scan() {
		last = lines.Text()
		t.Log(last)
	}
	if err := victim.Wait(); err != nil {
		t.Fatalf("%v: %s", err, last)
	}
	// One run that is lost, and one that is refused: 3 s each at most.
	if d := time.Since(began); d > slack*6*time.Second {
		t.Errorf("it took %v", d)
	}
	if !strings.HasPrefix(last, "lost: ") {
		t.Errorf("it said %q", last)
	}
}
