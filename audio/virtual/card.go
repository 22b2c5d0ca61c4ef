package virtual

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"

	"example.org/wheatear/audio"
)

// Config is what a simulated card is made of. The zero value is an ideal card with
// an ideal jig of 1 kΩ and the standards that every tray has.
type Config struct {
	Jig    Jig
	Faults Faults
	Tray   *Tray  // nil: standards only
	Seed   uint64 // of everything that is drawn
	Name   string // of the device; empty means "simulated jig"
}

// Card is a simulated stereo card with a jig. Nothing is connected at first: it is
// an open. A Card is safe for concurrent use, and runs are independent of each
// other; what is drawn for a run depends on the seed and on how many were before.
type Card struct {
	jig    Jig
	faults Faults
	tray   *Tray
	seed   uint64
	name   string
	kernel *kernel

	mu         sync.Mutex
	in         inserted
	hookup     Hookup
	insertions uint64
	runs       uint64
}

var (
	_ audio.Monitor   = (*Card)(nil)
	_ audio.Lister    = (*Card)(nil)
	_ audio.Describer = (*Card)(nil)
)

// New returns a card. It refuses what cannot be simulated.
func New(cfg Config) (*Card, error) {
	j, err := cfg.Jig.withDefaults()
	if err != nil {
		return nil, err
	}
	if err := cfg.Faults.check(); err != nil {
		return nil, err
	}
	c := &Card{jig: j, faults: cfg.Faults, tray: cfg.Tray, seed: cfg.Seed, name: cfg.Name, kernel: newKernel()}
	c.faults.Drops = slices.Clone(cfg.Faults.Drops)
	c.faults.Hum.Levels = slices.Clone(cfg.Faults.Hum.Levels)
	if c.tray == nil {
		c.tray = &Tray{}
	}
	if c.name == "" {
		c.name = "simulated jig"
	}
	return c, c.Insert("open")
}

// ratesHz are those of ordinary cards.
var ratesHz = []float64{8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 176400, 192000, 384000}

// Describe says what device this is.
func (c *Card) Describe() audio.Device {
	return audio.Device{Name: c.name, API: "virtual", Inputs: 2, Outputs: 2, RatesHz: slices.Clone(ratesHz),
		Note: "simulated; no sound is made"}
}

// Devices lists this card alone.
func (c *Card) Devices(ctx context.Context) ([]audio.Device, error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("virtual: listing devices: %w", context.Cause(ctx))
	}
	return []audio.Device{c.Describe()}, nil
}

// Run implements [audio.Card]. The jig is driven by output 1; the answer comes as
// fast as it can be computed. Every run begins with the circuit at rest.
func (c *Card) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	return c.RunMonitored(ctx, cfg, stimulus, func(int64, [][]float64) bool { return true })
}

// RunMonitored is Run that shows the frames as they come.
func (c *Card) RunMonitored(ctx context.Context, cfg audio.Config, stimulus []float64, watch audio.Watch) (*audio.Record, error) {
	cfg, err := cfg.WithDefaults(len(stimulus))
	if err != nil {
		return nil, err
	}
	if err := c.serves(cfg); err != nil {
		return nil, &audio.DeviceError{Op: "open", Device: c.name, Err: err}
	}
	s, err := c.Stream(cfg.RateHz)
	if err != nil {
		return nil, &audio.DeviceError{Op: "start", Device: c.name, Err: err}
	}
	r := &run{stream: s, cfg: cfg, stimulus: stimulus, rec: &audio.Record{
		RateHz: cfg.RateHz, Channels: make([][]float64, len(cfg.Inputs)), Bits: c.faults.bits(), Source: c.name}}
	cause := r.play(ctx, watch)
	r.rec.Events = c.faults.events(r.rec.Frames())
	if cause != nil {
		return audio.CutShort(r.rec, cfg.Frames, cause)
	}
	return r.rec, nil
}

// serves says why the card cannot do what is asked of it.
func (c *Card) serves(cfg audio.Config) error {
	if !slices.Contains(ratesHz, cfg.RateHz) {
		return fmt.Errorf("%w: %g Hz; it has %v", audio.ErrRate, cfg.RateHz, ratesHz)
	}
	if most := max(slices.Max(cfg.Inputs), slices.Max(cfg.Outputs)); most > 2 {
		return fmt.Errorf("%w: channel %d asked for, there are 2 inputs and 2 outputs", audio.ErrChannels, most)
	}
	return nil
}

// run is a run under way.
type run struct {
	stream   *Stream
	cfg      audio.Config
	stimulus []float64
	rec      *audio.Record
}

// play goes block by block, and returns why it ended before its time.
func (r *run) play(ctx context.Context, watch audio.Watch) error {
	var out []float64
	drive := make([]float64, r.cfg.BlockFrames)
	block := make([][]float64, len(r.cfg.Inputs))
	for r.rec.Frames() < r.cfg.Frames {
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		clear(drive)
		if slices.Contains(r.cfg.Outputs, 1) {
			r.stimulus = r.stimulus[copy(drive, r.stimulus):]
		}
		var err error
		if out, err = r.stream.Process(out[:0], drive); err != nil {
			return err
		}
		first := r.rec.Frames()
		r.take(block, out[:min(len(out), 2*(r.cfg.Frames-first))])
		if r.rec.Frames() > first && !watch(int64(first), block) && r.rec.Frames() < r.cfg.Frames {
			return audio.ErrStopped
		}
	}
	return nil
}

// take adds interleaved frames to the record and to the block that is shown.
func (r *run) take(block [][]float64, out []float64) {
	for i, input := range r.cfg.Inputs {
		block[i] = block[i][:0]
		for k := input - 1; k < len(out); k += 2 {
			block[i] = append(block[i], out[k])
		}
		r.rec.Channels[i] = append(r.rec.Channels[i], block[i]...)
	}
}

// bits is the resolution of what the faults leave.
func (f *Faults) bits() int {
	if f.ResampleHz > 0 || f.Mono {
		return 0
	}
	return f.Bits
}

// events are what the driver says of the drops within a record.
func (f *Faults) events(frames int) (all []audio.Event) {
	for _, d := range f.Drops {
		if !d.Reported || d.Frame >= int64(frames) {
			continue
		}
		kind := audio.Overflow
		if d.Fill == Cut {
			kind = audio.Gap
		}
		all = append(all, audio.Event{Kind: kind, Frame: d.Frame, Detail: fmt.Sprintf("%d frames lost", d.Frames)})
	}
	return all
}

// Stream starts a stream with what is in the jig now, at a rate in frames per
// second. It is what Run and [Card.Filter] use.
func (c *Card) Stream(rateHz float64) (*Stream, error) {
	if !(rateHz >= 1000 && rateHz <= 10e6) {
		return nil, fmt.Errorf("virtual: a rate of %g Hz; 1000 to 10000000 are possible", rateHz)
	}
	c.mu.Lock()
	in, number := c.in, c.runs
	in.hookup = c.hookup
	c.runs++
	c.mu.Unlock()
	s, err := newStream(c.jig, in, c.faults, rateHz, c.seed, number, c.kernel)
	if err != nil {
		return nil, fmt.Errorf("part %q: %w", in.part.Name, err)
	}
	return s, nil
}

// Insert puts a part or a standard of the tray into the jig, in place of what was
// there. "open", "short" and "load" are in every tray, and so is "resistor 470" with
// any other value. Inserting again makes a new contact.
func (c *Card) Insert(name string) error {
	part, err := c.tray.find(name, c.jig.ReferenceOhm)
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.insertions++
	c.in = c.jig.insert(part, c.seed, c.insertions)
	return nil
}

// Remove takes out what is in the jig and leaves it open.
func (c *Card) Remove() { _ = c.Insert("open") } // an open is in every tray

// Parts are what [Card.Insert] can put in: the parts of the tray, then the standards
// that it does not have itself.
func (c *Card) Parts() []Part { return c.tray.all(c.jig.ReferenceOhm) }

// Inserted is the name of what is in the jig.
func (c *Card) Inserted() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.in.part.Name
}

// names lists parts for a message.
func names(parts []Part) string {
	var all []string
	for _, p := range parts {
		all = append(all, p.Name)
	}
	return strings.Join(all, ", ")
}
