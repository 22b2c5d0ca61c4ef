package portaudio

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"

	"example.org/wheatear/audio"
)

// Card is a pair of devices, one that records and one that plays, mostly the same.
// It implements [audio.Card] and what may go with it. One run at a time: a second
// one is refused with [audio.ErrBusy].
type Card struct {
	lib  *library
	opts Options

	busy   sync.Mutex // held by a run and by Close
	closed bool       // under busy
	hangs  bool       // under busy: the last run has left a call behind

	delivered bool // under busy: the last run was whole

	mu   sync.Mutex
	grip grip // under mu, and written under busy alone
}

var (
	_ audio.Monitor   = (*Card)(nil)
	_ audio.Lister    = (*Card)(nil)
	_ audio.Describer = (*Card)(nil)
)

// Describe tells what device records.
func (c *Card) Describe() audio.Device { return c.get().in.describe() }

// Pair returns the device that records and the one that plays, as they were found
// when the card was opened or last run.
func (c *Card) Pair() (in, out Device) {
	g := c.get()
	return g.in, g.out
}

// Run plays and records, see [audio.Card].
func (c *Card) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	return c.RunMonitored(ctx, cfg, stimulus, nil)
}

// RunMonitored is Run with a look at what comes in; watch may be nil.
//
// Errors, beside those of the contract: [audio.ErrRate] with the rates that the
// device accepts; [audio.ErrChannels] where it has too few; ErrBusy, ErrDenied;
// ErrLost when calls stop coming for a second; ErrTimeout when the library hangs.
func (c *Card) RunMonitored(ctx context.Context, cfg audio.Config, stimulus []float64, watch audio.Watch) (*audio.Record, error) {
	asked := cfg
	cfg, err := cfg.WithDefaults(len(stimulus))
	if err != nil {
		return nil, err
	}
	if err := checkStimulus(stimulus); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("portaudio: not begun: %w", err)
	}
	if !c.busy.TryLock() {
		return nil, c.deviceError("run", audio.ErrBusy)
	}
	defer c.busy.Unlock()
	if c.opts.Quiet {
		defer hush(c.opts.Log)()
	}
	if c.closed {
		return nil, c.deviceError("run", errors.New("the card was closed"))
	}
	r := &run{card: c, cfg: cfg, anyOutput: asked.Outputs == nil}
	if err := r.open(ctx, stimulus); err != nil {
		return nil, err
	}
	kept, cause := r.supervise(ctx, watch)
	c.delivered = cause == nil
	return r.finish(kept, cause, r.close(ctx))
}

// checkStimulus refuses what no converter can play.
func checkStimulus(stimulus []float64) error {
	for i, x := range stimulus {
		if !(math.Abs(x) <= 1) {
			return fmt.Errorf("%w: sample %d of the stimulus is %g; a card plays from -1 to 1", audio.ErrConfig, i, x)
		}
	}
	return nil
}

// Close gives the library back. It waits for no run: while one is under way the
// error wraps [audio.ErrBusy]. A closed card can't be run; closing it again does
// nothing.
func (c *Card) Close() error {
	if !c.busy.TryLock() {
		return c.deviceError("close", audio.ErrBusy)
	}
	defer c.busy.Unlock()
	if c.closed {
		return nil
	}
	c.closed = true
	g := c.get()
	c.set(grip{lib: c.lib, in: g.in, out: g.out})
	limit := closeLimit
	if c.hangs {
		limit = closeHurried // it has been waited for
	}
	_, err := c.lib.call(context.Background(), job{what: "ending the sound library", limit: limit, log: c.opts.Log,
		do: func() error { return g.end() }})
	if errors.Is(err, errForgotten) {
		return nil // the run has said that the device is gone
	}
	return c.deviceError("close", err)
}

func (c *Card) get() grip {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.grip
}

func (c *Card) set(g grip) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.grip = g
}

// deviceError says what was being done with which device.
func (c *Card) deviceError(op string, err error) error {
	if err == nil {
		return nil
	}
	g := c.get()
	name := g.in.Name
	switch {
	case name == "" && c.opts.Output != "":
		name = c.opts.Input + " and " + c.opts.Output
	case name == "":
		name = c.opts.Input
	case !g.out.same(g.in):
		name += " and " + g.out.Name
	}
	return &audio.DeviceError{Op: op, Device: name, Err: err}
}
