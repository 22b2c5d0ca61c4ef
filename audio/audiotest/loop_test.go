package audiotest

import (
	"context"
	"fmt"
	"sync"

	"example.org/wheatear/audio"
)

// loop is a card whose output comes straight back, input k at 1/k of the level.
// The flags break the contract, each in one place.
type loop struct {
	mu sync.Mutex

	tooShort, nilNil, noSource, ragged   bool
	acceptsAll, wrongErr, scribbles      bool
	sharesBuffer, forgets, ignoresCancel bool
	losesRecord, keepsOnFailure, noEvent bool
	leaks, drifts, fixedOrder, showsLess bool
	oneRunOnly, namelessDevice           bool
	swallowsWatch                        bool

	buffer [2][]float64
	runs   int
}

func (l *loop) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	return l.RunMonitored(ctx, cfg, stimulus, nil)
}

func (l *loop) RunMonitored(ctx context.Context, cfg audio.Config, stimulus []float64, watch audio.Watch) (*audio.Record, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	full, err := cfg.WithDefaults(len(stimulus))
	if err != nil && !l.acceptsAll {
		return nil, l.refuse(err)
	}
	if l.acceptsAll && err != nil {
		full, _ = audio.Config{Frames: 100}.WithDefaults(0)
	}
	for _, ch := range full.Inputs {
		if ch > 2 {
			return nil, &audio.DeviceError{Op: "open", Device: "loop", Err: audio.ErrChannels}
		}
	}
	if l.runs++; l.oneRunOnly && l.runs > 1 {
		return nil, audio.ErrLost
	}
	if l.nilNil {
		return nil, nil
	}
	if l.leaks {
		go func() { <-make(chan int) }()
	}
	return l.play(ctx, full, stimulus, watch)
}

func (l *loop) refuse(err error) error {
	if l.wrongErr {
		return fmt.Errorf("no")
	}
	return err
}

// play makes the record frame by frame, slowly enough to be cancelled.
func (l *loop) play(ctx context.Context, cfg audio.Config, stimulus []float64, watch audio.Watch) (*audio.Record, error) {
	rec := &audio.Record{RateHz: cfg.RateHz, Channels: make([][]float64, len(cfg.Inputs)), Source: "loop"}
	if l.noSource {
		rec.Source = ""
	}
	if l.scribbles && len(stimulus) > 0 {
		stimulus[0] = 9
	}
	for at := 0; at < cfg.Frames; at += 64 {
		if ctx.Err() != nil && !l.ignoresCancel {
			return l.cut(rec, cfg, context.Cause(ctx))
		}
		n := min(64, cfg.Frames-at)
		l.block(rec, cfg, stimulus, at, n)
		if watch != nil && !l.show(rec, at, n, watch) {
			return l.cut(rec, cfg, audio.ErrStopped)
		}
	}
	return l.finish(rec, cfg), nil
}

// block records n frames from frame at on.
func (l *loop) block(rec *audio.Record, cfg audio.Config, stimulus []float64, at, n int) {
	for i := at; i < at+n; i++ {
		v := 0.0
		if i < len(stimulus) {
			v = stimulus[i]
		}
		for k, input := range cfg.Inputs {
			if l.fixedOrder {
				input = k + 1
			}
			x := v / float64(input)
			if l.drifts {
				x += 1e-6 * float64(l.runs)
			}
			rec.Channels[k] = append(rec.Channels[k], x)
		}
	}
	for i := range 3000 { // some work, so that a long run takes a while
		l.buffer[0] = append(l.buffer[0][:0], float64(i))
	}
}

func (l *loop) show(rec *audio.Record, at, n int, watch audio.Watch) bool {
	block := make([][]float64, len(rec.Channels))
	for i, ch := range rec.Channels {
		block[i] = append([]float64(nil), ch[at:at+n]...)
		if l.showsLess && at > 0 {
			block[i] = block[i][1:]
			if len(block[i]) == 0 {
				return true
			}
		}
		if l.swallowsWatch {
			block[i] = ch[at : at+n]
		}
	}
	return watch(int64(at), block)
}

func (l *loop) cut(rec *audio.Record, cfg audio.Config, cause error) (*audio.Record, error) {
	if l.losesRecord {
		return nil, cause
	}
	if l.keepsOnFailure && rec.Frames() == 0 {
		return rec, cause
	}
	kept, err := audio.CutShort(rec, cfg.Frames, cause)
	if l.noEvent && kept != nil {
		kept.Events = nil
	}
	if l.forgets {
		err = fmt.Errorf("interrupted")
	}
	return kept, err
}

// finish breaks what can be broken in a complete record.
func (l *loop) finish(rec *audio.Record, cfg audio.Config) *audio.Record {
	if l.tooShort {
		for i, ch := range rec.Channels {
			rec.Channels[i] = ch[:len(ch)-1]
		}
	}
	if l.ragged && len(rec.Channels) > 1 {
		rec.Channels[1] = rec.Channels[1][1:]
	}
	if l.sharesBuffer {
		for i := range rec.Channels {
			l.buffer[i] = append(l.buffer[i][:0], rec.Channels[i]...)
			rec.Channels[i] = l.buffer[i]
		}
	}
	return rec
}

func (l *loop) Describe() audio.Device {
	if l.namelessDevice {
		return audio.Device{}
	}
	return audio.Device{Name: "loop", Inputs: 2, Outputs: 2}
}

func (l *loop) Devices(ctx context.Context) ([]audio.Device, error) {
	return []audio.Device{l.Describe()}, ctx.Err()
}
