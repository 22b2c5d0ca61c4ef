package portaudio

import (
	"context"
	"errors"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"go.uber.org/goleak"
)

func TestListScripted(t *testing.T) {
	d := threeDevices()
	d.rate = 44100
	lib := newLibrary(d)
	got, err := list(context.Background(), lib, Options{Rates: true})
	if err != nil || len(got) != 3 || !slices.Equal(got[1].RatesHz, []float64{44100}) {
		t.Errorf("got %+v, %v", got, err)
	}
	if started, _, _ := d.state(); started != 0 {
		t.Error("the library is still started")
	}
	got, err = list(context.Background(), newLibrary(&scripted{}), Options{})
	if err != nil || len(got) != 0 {
		t.Errorf("no device gave %v, %v", got, err)
	}
}

// Whoever waits for a turn can be called off.
func TestWaitingForATurn(t *testing.T) {
	d := threeDevices()
	d.hangStart = make(chan struct{})
	lib := newLibrary(d)
	busy := make(chan error)
	go func() {
		_, err := list(context.Background(), lib, Options{})
		busy <- err
	}()
	for lib.doing.Load() == nil {
		runtime.Gosched()
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer cancel()
	if _, err := list(ctx, lib, Options{}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("called off: %v", err)
	}
	if _, err := list(context.Background(), lib, Options{Patience: 20 * time.Millisecond}); !errors.Is(err, audio.ErrTimeout) {
		t.Errorf("out of patience: %v", err)
	}
	close(d.hangStart)
	if err := <-busy; err != nil {
		t.Error(err)
	}
}

// One card's end must not take the library from another.
func TestUsersAreCounted(t *testing.T) {
	d := threeDevices()
	lib := newLibrary(d)
	ctx := context.Background()
	a, errA := open(ctx, lib, Options{Input: "jig"})
	b, errB := open(ctx, lib, Options{Input: "card"})
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	if err := a.Close(); err != nil {
		t.Error(err)
	}
	if err := a.Close(); err != nil {
		t.Error("closing twice:", err)
	}
	if started, lists, _ := d.state(); started != 1 || lists != 1 {
		t.Errorf("started %d times of %d with one card open", started, lists)
	}
	if _, err := b.Run(ctx, audio.Config{Frames: 10}, nil); err != nil {
		t.Error(err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
	if started, _, _ := d.state(); started != 0 {
		t.Error("still started with no card open")
	}
}

// A card opened by a number of the list would be another one after a re-plug.
func TestNumbersShift(t *testing.T) {
	d := threeDevices()
	c := openScripted(t, d, Options{Input: "jig"})
	d.list = []Device{{Number: 0, API: "ALSA", Name: "new", Inputs: 2, Outputs: 2}, jackDevice}
	d.list[1].Number = 1
	rec, err := c.Run(context.Background(), audio.Config{Frames: 10}, nil)
	if err != nil || rec.Source != jackDevice.FullName() {
		t.Fatalf("got %+v, %v", rec, err)
	}
	if in, out := c.Pair(); in.Number != 1 || out.Number != 1 {
		t.Errorf("the pair is %v and %v", in, out)
	}
}

func TestDescribe(t *testing.T) {
	c := openScripted(t, threeDevices(), Options{Input: "mono"})
	if got := c.Describe(); got.Name != "mono microphone" || got.API != "ALSA" || got.Inputs != 1 || !strings.Contains(got.Note, "convert the rate") {
		t.Errorf("got %+v", got)
	}
	if note := alsaDevice.describe().Note; note != "" {
		t.Errorf("a device of the hardware itself has the note %q", note)
	}
}

// Without the library the error says how to get it, on every system, in one line.
func TestNotBuilt(t *testing.T) {
	text := errNotBuilt.Error()
	if !errors.Is(errNotBuilt, errors.ErrUnsupported) || strings.Contains(text, "\n") {
		t.Errorf("%q", text)
	}
	for _, part := range []string{"Debian: apt install", "portaudio19-dev", "Fedora: dnf install", "portaudio-devel",
		"macOS: brew install", "Windows", "pacman -S", "go build -tags portaudio ./cmd/wheatear"} {
		if !strings.Contains(text, part) {
			t.Errorf("%q lacks %q", text, part)
		}
	}
	if Built {
		return
	}
	if _, err := Open(context.Background(), Options{}); !errors.Is(err, errors.ErrUnsupported) {
		t.Errorf("Open gave %v", err)
	}
	if _, err := List(context.Background(), Options{}); !errors.Is(err, errors.ErrUnsupported) {
		t.Errorf("List gave %v", err)
	}
}

// Whoever calls it off waits for no call into the library, whichever of them hangs,
// and what the call had opened is put away when it returns after all.
func TestCalledOffWhileTheLibraryHangs(t *testing.T) {
	const never = time.Hour
	before := goleak.IgnoreCurrent()
	hang := make(chan struct{})
	var libraries []*scripted
	for _, at := range []string{"listing", "starting", "opening", "closing"} {
		t.Run(at, func(t *testing.T) {
			d := threeDevices()
			libraries = append(libraries, d)
			lib := newLibrary(d)
			ctx, cancel := context.WithCancel(context.Background())
			defer cancel()
			go func() {
				for doing := lib.doing.Load(); doing == nil || !strings.HasPrefix(*doing, at); doing = lib.doing.Load() {
					time.Sleep(time.Millisecond)
				}
				cancel()
			}()
			var err error
			switch at {
			case "listing":
				d.hangStart = hang
				_, err = list(ctx, lib, Options{Patience: never})
			case "starting":
				d.hangStart = hang
				_, err = open(ctx, lib, Options{Input: "jig", Patience: never})
			case "opening":
				d.hangOpen = hang
				err = runOnce(ctx, lib, Options{Input: "jig", Patience: never}, func() {})
			case "closing":
				d.hangClose = hang
				err = runOnce(ctx, lib, Options{Input: "jig", Patience: never}, cancel)
			}
			if !errors.Is(err, context.Canceled) {
				t.Errorf("got %v", err)
			}
		})
	}
	close(hang)
	goleak.VerifyNone(t, before)
	for _, d := range libraries {
		if _, _, opened := d.state(); opened != 0 {
			t.Errorf("%d streams are open at the end", opened)
		}
	}
}

// runOnce opens a card, runs it for long, and closes it, as a command does. It calls
// begun while the run is under way.
func runOnce(ctx context.Context, l *library, o Options, begun func()) error {
	c, err := open(context.Background(), l, o)
	if err != nil {
		return err
	}
	_, err = c.RunMonitored(ctx, audio.Config{Frames: 480000}, nil, func(int64, [][]float64) bool {
		begun()
		return true
	})
	_ = c.Close() // it may be in the way of what hangs
	return err
}
