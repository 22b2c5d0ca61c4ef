package portaudio

import (
	"context"
	"errors"
	"fmt"
	"time"

	"example.org/wheatear/audio"
)

const (
	pollEvery  = 10 * time.Millisecond
	deadAfter  = time.Second             // without a call: the device is gone
	startAfter = 1500 * time.Millisecond // the same for the first call

	// longestWait is the most that one look counts for. Where this process itself
	// was stopped, the device must get the time to call again.
	longestWait = 100 * time.Millisecond

	shownAtMost = 8192 // frames in one block for a watcher
)

// supervise waits for the end of the run. It returns how many frames count and
// what ended the run: nil when all frames are there.
func (r *run) supervise(ctx context.Context, watch audio.Watch) (frames int, cause error) {
	m := monitor{run: r, watch: watch}
	cause = r.wait(ctx, &m)
	if cause != nil {
		m.show(int(r.take.recorded.Load()))
	}
	if m.shown == r.take.frames() {
		return m.shown, nil
	}
	return m.shown, cause
}

// wait shows what comes to the monitor, until all is there or there is a reason
// to end before.
func (r *run) wait(ctx context.Context, m *monitor) error {
	ticker := time.NewTicker(pollEvery)
	defer ticker.Stop()
	dogs := []*watchdog{{side: &r.take.in, device: r.grip.in.Name}, {side: &r.take.out, device: r.grip.out.Name}}
	for last := time.Now(); m.shown < r.take.frames(); {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-ticker.C:
		}
		if !m.show(int(r.take.recorded.Load())) {
			return audio.ErrStopped
		}
		now := time.Now()
		for _, d := range dogs {
			if err := d.look(min(now.Sub(last), longestWait)); err != nil {
				return err
			}
		}
		last = now
	}
	return nil
}

// watchdog sees whether calls keep coming.
type watchdog struct {
	side   *side
	device string
	calls  int64
	idle   time.Duration
}

// look counts the time since the last look, and errs when it has been too long.
func (d *watchdog) look(passed time.Duration) error {
	if calls := d.side.calls.Load(); calls != d.calls {
		d.calls, d.idle = calls, 0
		return nil
	}
	d.idle += passed
	switch {
	case d.calls == 0 && d.idle >= startAfter:
		return &audio.DeviceError{Op: "start", Device: d.device, Err: errNeverBegan}
	case d.calls > 0 && d.idle >= deadAfter:
		return &audio.DeviceError{Op: "run", Device: d.device, Err: errSilent}
	}
	return nil
}

// monitor hands new frames to a watcher, which may be nil.
type monitor struct {
	run   *run
	watch audio.Watch
	ended bool // by the watcher
	shown int
	room  [][]float64
}

// show gives the watcher what there is up to end and was not shown before. It
// returns false once the watcher wants no more.
func (m *monitor) show(end int) bool {
	if m.watch == nil {
		m.shown = end
		return true
	}
	if m.room == nil {
		m.room = newFrames(len(m.run.cfg.Inputs), shownAtMost)
	}
	for m.shown < end && !m.ended {
		m.showBlock(min(end-m.shown, shownAtMost))
	}
	return !m.ended
}

// showBlock shows the next n frames.
func (m *monitor) showBlock(n int) {
	block := make([][]float64, len(m.room))
	for i := range block {
		block[i] = m.room[i][:n]
	}
	m.run.take.copyFrames(block, m.run.cfg.Inputs, m.shown, n)
	first := int64(m.shown)
	m.shown += n
	m.ended = !m.watch(first, block)
}

// newFrames makes room for frames of as many channels.
func newFrames(channels, frames int) [][]float64 {
	out := make([][]float64, channels)
	for i := range out {
		out[i] = make([]float64, frames)
	}
	return out
}

// close stops and closes the streams and frees their memory, all within
// [closeLimit], or [closeHurried] when ctx has ended. The error is one of time
// alone: what a device that is gone says on closing is of no use to anybody.
func (r *run) close(ctx context.Context) error {
	r.take.over.Store(true)
	c, limit := r.card, closeLimit
	if ctx.Err() != nil {
		limit = closeHurried
	}
	left, err := c.lib.call(context.Background(), job{what: "closing " + r.grip.in.Name, limit: limit, log: c.opts.Log, do: r.closeStreams})
	c.hangs = left
	return err
}

// closeStreams is the job of close. If it hangs, its goroutine is the one that is
// left behind.
func (r *run) closeStreams() error {
	for _, s := range r.streams {
		_ = s.abort()
	}
	for _, s := range r.streams {
		_ = s.close()
	}
	return nil
}

// finish makes the record out of the first n frames of what was taken.
func (r *run) finish(n int, cause, closing error) (*audio.Record, error) {
	rec := &audio.Record{RateHz: r.rateHz, Channels: newFrames(len(r.cfg.Inputs), n), Source: r.grip.in.FullName()}
	r.take.copyFrames(rec.Channels, r.cfg.Inputs, 0, n)
	rec.Events = append(r.remarks, r.take.events(int64(n))...)
	if closing != nil {
		rec.Events = append(rec.Events, audio.Event{Kind: audio.Remark, Frame: -1, Detail: closing.Error()})
	}
	if closing != nil || errors.Is(cause, audio.ErrLost) {
		r.grip.stale = true
		r.card.set(r.grip)
	}
	if cause == nil {
		return rec, nil
	}
	if closing != nil {
		cause = fmt.Errorf("%w; %w", cause, closing)
	}
	return audio.CutShort(rec, r.cfg.Frames, cause)
}
