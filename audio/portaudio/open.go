package portaudio

import (
	"context"
	"io"
	"slices"
	"time"

	"example.org/wheatear/audio"
)

// Options say which devices are meant. The zero value is the system's defaults.
type Options struct {
	// Input is the name of the device that records: as [Choose] finds it.
	Input string
	// Output is the device that plays; empty means the same as Input, and it is an
	// error if that has no output. Another device has a clock of its own.
	Output string
	// Log gets what the libraries below print, for people who look for a fault; nil
	// drops it.
	Log io.Writer
	// Quiet keeps what the libraries print off standard error during runs, too: their
	// threads print when they like. What the program itself writes there meanwhile
	// goes the same way, so that it must write to [Stderr].
	Quiet bool
	// Patience is how long the libraries may take to start and to open a device; 0
	// means 2.5 s. Some drivers need more to list everything.
	Patience time.Duration
	// Rates makes List try the usual rates on every device. It takes longer and may
	// disturb what else uses them.
	Rates bool
}

// defaultPatience leaves time to say what is wrong before three seconds are over.
const defaultPatience = 2500 * time.Millisecond

func (o Options) withDefaults() Options {
	if o.Patience <= 0 {
		o.Patience = defaultPatience
	}
	return o
}

// UsualRates are those that [List] and errors of opening try, in hertz.
func UsualRates() []float64 {
	return []float64{8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 176400, 192000}
}

// List returns the devices there are, by number. None at all is no error; then
// [ErrNone] has the words for it. While a [Card] is open, the list stays as it was
// when the first one was opened.
//
// Without the tag portaudio the error wraps [errors.ErrUnsupported]. If the list
// takes longer than Patience it wraps [audio.ErrTimeout].
func List(ctx context.Context, o Options) ([]Device, error) { return list(ctx, shared, o) }

func list(ctx context.Context, l *library, o Options) ([]Device, error) {
	o = o.withDefaults()
	var devices []Device
	_, err := l.call(ctx, job{what: "listing the devices", limit: o.Patience, log: o.Log, do: func() (err error) {
		devices, err = l.list(o.Rates)
		return err
	}})
	if err != nil {
		return nil, &audio.DeviceError{Op: "list", Err: err}
	}
	return devices, nil
}

// list is the job of [List].
func (l *library) list(rates bool) ([]Device, error) {
	if err := l.acquire(); err != nil {
		return nil, err
	}
	devices, err := l.drv.devices()
	if rates {
		for i := range devices {
			devices[i].RatesHz = accepted(l.drv, &devices[i], &devices[i])
		}
	}
	if end := l.release(); err == nil {
		err = end
	}
	return devices, err
}

// accepted returns the usual rates that the pair accepts with one channel each.
func accepted(drv driver, in, out *Device) []float64 {
	p := params{in: in, out: out, inCh: 1, outCh: 1, latency: suggestedLatency}
	if in.Inputs == 0 {
		p.in = nil
	}
	if out.Outputs == 0 {
		p.out = nil
	}
	return slices.DeleteFunc(UsualRates(), func(rate float64) bool {
		p.rateHz = rate
		return !drv.supports(p)
	})
}

// Open finds the devices and returns them as a card. The library stays started
// until the card is closed, so that one run after another begins quickly.
//
// Errors are [*audio.DeviceError]; beside those of [List], the cause is a
// [*ChoiceError] where the names do not fit exactly one device each.
func Open(ctx context.Context, o Options) (*Card, error) { return open(ctx, shared, o) }

func open(ctx context.Context, l *library, o Options) (*Card, error) {
	c := &Card{lib: l, opts: o.withDefaults()}
	g := grip{lib: l}
	left, err := l.call(ctx, job{what: "starting the sound library", limit: c.opts.Patience, log: o.Log,
		do: func() error { return g.renew(c.opts) }, undo: g.letGo})
	if !left {
		c.set(g)
	}
	if err != nil {
		return nil, c.deviceError("find", err)
	}
	return c, nil
}

// Devices lists the devices of the system, as [List] does.
func (c *Card) Devices(ctx context.Context) ([]audio.Device, error) {
	devices, err := list(ctx, c.lib, c.opts)
	if err != nil {
		return nil, err
	}
	out := make([]audio.Device, len(devices))
	for i, d := range devices {
		out[i] = d.describe()
	}
	return out, nil
}
