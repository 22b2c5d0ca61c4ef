package portaudio

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"example.org/wheatear/audio"
)

const (
	// suggestedLatency is asked of every stream. Nothing here needs a short one; much
	// longer ones make periods that some servers cut in pieces.
	suggestedLatency = 100 * time.Millisecond

	// longestPeriod keeps the frames per call below what a sound server hands over
	// at once, which is 0.05 s.
	longestPeriod = 25 * time.Millisecond

	// closeLimit is how long stopping and closing may take. Without trouble it takes
	// some hundredths of a second, of which the device's period is the most.
	closeLimit = 800 * time.Millisecond

	// closeHurried is the same for whoever has called the run off and waits.
	closeHurried = 200 * time.Millisecond
)

// run is one run of a card.
type run struct {
	card      *Card
	grip      grip // a copy for the job that opens
	cfg       audio.Config
	anyOutput bool // the caller did not say which outputs play
	take      *take
	streams   []stream
	remarks   []audio.Event
	rateHz    float64 // that the library names for the opened input
}

// open finds the devices, opens the streams and starts them.
func (r *run) open(ctx context.Context, stimulus []float64) error {
	c := r.card
	r.grip = c.get()
	left, err := c.lib.call(ctx, job{what: "opening " + r.grip.in.Name, limit: c.opts.Patience, log: c.opts.Log,
		do: func() error { return r.prepare(stimulus) }, undo: func() { r.abandon(); r.grip.letGo() }})
	c.hangs = left
	if left {
		c.set(grip{lib: c.lib}) // the job has the other one
	} else {
		c.set(r.grip)
	}
	return c.deviceError("open", err)
}

// prepare is the job of open.
func (r *run) prepare(stimulus []float64) error {
	if err := r.grip.renew(r.card.opts); err != nil {
		return err
	}
	if err := r.checkChannels(); err != nil {
		return err
	}
	r.take = newTake(r.cfg.RateHz, r.cfg.Frames, slices.Max(r.cfg.Inputs), slices.Max(r.cfg.Outputs), fromZero(r.cfg.Outputs), stimulus)
	if err := r.openStreams(); err != nil {
		r.abandon()
		return r.explain(err)
	}
	return nil
}

// abandon closes what was opened when opening did not succeed. The list may be
// what was wrong, so it is made anew the next time.
func (r *run) abandon() {
	if r.take != nil {
		r.take.over.Store(true)
	}
	r.closeStreams()
	r.streams, r.grip.stale = nil, true
}

// checkChannels wants the devices to have the channels asked for. If the caller
// left the outputs open, a device with one of them will do.
func (r *run) checkChannels() error {
	in, out := r.grip.in, r.grip.out
	if need := slices.Max(r.cfg.Inputs); in.Inputs < need {
		return fmt.Errorf("%w: %s has %s, and input %d is asked for; the signals to be compared must come from one converter",
			audio.ErrChannels, in.FullName(), count(in.Inputs, "input"), need)
	}
	if r.anyOutput && out.Outputs == 1 {
		r.cfg.Outputs = []int{1}
	}
	if need := slices.Max(r.cfg.Outputs); out.Outputs < need {
		return fmt.Errorf("%w: %s has %s, and output %d is asked for", audio.ErrChannels, out.FullName(), count(out.Outputs, "output"), need)
	}
	return nil
}

// openStreams opens and starts one stream or two, the input first: its start-up
// is over when the output begins.
func (r *run) openStreams() error {
	for _, p := range r.plan() {
		s, err := r.card.lib.drv.open(p, r.take)
		if err != nil {
			return err
		}
		r.streams = append(r.streams, s)
		r.readBack(p, s)
	}
	for _, s := range r.streams {
		if err := s.start(); err != nil {
			return err
		}
	}
	return nil
}

// plan says which streams serve the pair of devices.
func (r *run) plan() []params {
	in, out := r.grip.in, r.grip.out
	input := params{in: &in, inCh: r.take.inStep, rateHz: r.cfg.RateHz, latency: suggestedLatency,
		framesPerBuffer: min(r.cfg.BlockFrames, int(longestPeriod.Seconds()*r.cfg.RateHz))}
	output := input
	output.in, output.inCh, output.out, output.outCh = nil, 0, &out, r.take.outStep
	oneClock := in.same(out) || in.jack() && out.jack()
	if !oneClock {
		r.remark("recorded with %q and played with %q: two devices with clocks of their own, so the tones recorded are off by their difference", in.Name, out.Name)
	}
	if in.alsa() || !oneClock {
		return []params{input, output}
	}
	input.out, input.outCh, input.framesPerBuffer = &out, output.outCh, 0
	return []params{input}
}

// readBack notes what the opened stream says of itself.
func (r *run) readBack(p params, s stream) {
	info, ok := s.info()
	if !ok {
		info.rateHz = p.rateHz
	}
	if p.in != nil {
		r.rateHz, r.take.perSecond = info.rateHz, info.rateHz
		r.remark("%s records %s at %g Hz, latency %.3g s; that rate is the driver's word and tells nothing of the converter%s",
			p.in.FullName(), count(p.inCh, "channel"), info.rateHz, info.inLatency.Seconds(), p.in.caution(p.rateHz))
	}
	if p.out != nil {
		r.remark("%s plays %s at %g Hz, latency %.3g s", p.out.FullName(), count(p.outCh, "channel"), info.rateHz, info.outLatency.Seconds())
	}
	if math.Abs(info.rateHz-p.rateHz) > 1e-3*p.rateHz {
		r.remark("%g Hz were asked for and %g Hz are what the driver gives", p.rateHz, info.rateHz)
	}
}

// caution says what may happen on the way to the converter.
func (d Device) caution(rateHz float64) string {
	var text string
	if note := d.note(); note != "" {
		text = "; it " + note
	}
	if d.DefaultRateHz > 0 && d.DefaultRateHz != rateHz {
		text += fmt.Sprintf("; the device's default rate is %g Hz", d.DefaultRateHz)
	}
	return text
}

// explain adds the rates that the devices accept to an error of opening where the
// one asked for is not among them. Some drivers call that another error.
func (r *run) explain(err error) error {
	if errors.Is(err, audio.ErrBusy) || errors.Is(err, audio.ErrDenied) {
		return err
	}
	in, out := r.grip.in, r.grip.out
	rates := accepted(r.card.lib.drv, &in, &out)
	if slices.Contains(rates, r.cfg.RateHz) {
		return r.wasThere(err)
	}
	if len(rates) == 0 {
		return r.wasThere(fmt.Errorf("%w; none of the usual rates is accepted either", err))
	}
	words := make([]string, len(rates))
	for i, rate := range rates {
		words[i] = fmt.Sprintf("%g", rate)
	}
	return fmt.Errorf("%w: %g Hz; the device accepts %s Hz", audio.ErrRate, r.cfg.RateHz, strings.Join(words, ", "))
}

// wasThere says of a device that delivered before and can't be opened any more that
// it is gone. Drivers blame all sorts of things then.
func (r *run) wasThere(err error) error {
	if !r.card.delivered || errors.Is(err, audio.ErrLost) {
		return err
	}
	return fmt.Errorf("%w; opening it again: %w", errSilent, err)
}

// remark notes something worth knowing about the whole run.
func (r *run) remark(format string, args ...any) {
	r.remarks = append(r.remarks, audio.Event{Kind: audio.Remark, Frame: -1, Detail: fmt.Sprintf(format, args...)})
}

// fromZero counts channels from 0.
func fromZero(channels []int) []int {
	out := make([]int, len(channels))
	for i, ch := range channels {
		out[i] = ch - 1
	}
	return out
}

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
