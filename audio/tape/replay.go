package tape

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"sync"

	"example.org/wheatear/audio"
)

// Player is a card that plays kept runs back, one after the other, whatever it is
// driven with. Each Run must ask for what the kept one was asked for: then it ends
// as that did, with the same record or the same error.
type Player struct {
	mu     sync.Mutex
	sheets []string
	next   int
	last   *Sheet
}

var _ audio.Monitor = (*Player)(nil)

// Replay returns a player of the runs in a folder.
func Replay(dir string) (*Player, error) {
	all, err := sheets(dir)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%w in %s", ErrNoMore, dir)
	}
	slices.SortStableFunc(all, func(a, b string) int { return cmp.Compare(number(a), number(b)) })
	return &Player{sheets: all}, nil
}

// number is that of a run, from the name of its sheet.
func number(path string) (n int) {
	fmt.Sscanf(filepath.Base(path), "%d", &n)
	return n
}

// Left is the number of runs not played yet.
func (p *Player) Left() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.sheets) - p.next
}

// Run implements [audio.Card].
func (p *Player) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	return p.RunMonitored(ctx, cfg, stimulus, func(int64, [][]float64) bool { return true })
}

// RunMonitored implements [audio.Monitor]. A watcher that ends the run earlier than
// the kept one ended gets that much of it.
func (p *Player) RunMonitored(ctx context.Context, cfg audio.Config, stimulus []float64, watch audio.Watch) (*audio.Record, error) {
	cfg, err := cfg.WithDefaults(len(stimulus))
	if err != nil {
		return nil, err
	}
	if ctx.Err() != nil {
		return audio.CutShort(nil, cfg.Frames, context.Cause(ctx))
	}
	rec, s, err := p.take(cfg, len(stimulus))
	if err != nil {
		return nil, err
	}
	if rec == nil {
		return nil, s.err()
	}
	for at := 0; at < rec.Frames(); at += cfg.BlockFrames {
		end := min(at+cfg.BlockFrames, rec.Frames())
		block := make([][]float64, len(rec.Channels))
		for i, ch := range rec.Channels {
			block[i] = slices.Clone(ch[at:end])
		}
		if !watch(int64(at), block) && end < rec.Frames() {
			return shorten(rec, end, cfg.Frames)
		}
	}
	return rec, s.err()
}

// shorten ends a record at a frame.
func shorten(rec *audio.Record, end, want int) (*audio.Record, error) {
	for i, ch := range rec.Channels {
		rec.Channels[i] = ch[:end]
	}
	rec.Events = slices.DeleteFunc(rec.Events, func(e audio.Event) bool { return e.Frame >= int64(end) })
	return audio.CutShort(rec, want, audio.ErrStopped)
}

// take loads the next run and checks that it is the one that is asked for.
func (p *Player) take(cfg audio.Config, stimulusFrames int) (*audio.Record, *Sheet, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.next == len(p.sheets) {
		return nil, nil, fmt.Errorf("%w: all %d were played", ErrNoMore, p.next)
	}
	path := p.sheets[p.next]
	rec, s, err := Load(path)
	if err != nil {
		return nil, nil, err
	}
	cfg.BlockFrames = s.Config.BlockFrames // makes no difference
	if !reflect.DeepEqual(cfg, s.Config) || stimulusFrames != s.StimulusFrames {
		return nil, nil, fmt.Errorf("tape: %s was recorded with %+v and a stimulus of %d frames; asked for are %+v and %d",
			path, s.Config, s.StimulusFrames, cfg, stimulusFrames)
	}
	p.next++
	p.last = s
	return rec, s, nil
}

// Describe is the device of the run that was played last, or of the first.
func (p *Player) Describe() audio.Device {
	p.mu.Lock()
	defer p.mu.Unlock()
	s := p.last
	if s == nil {
		_, s, _ = Load(p.sheets[0])
	}
	if s == nil || s.Device == nil {
		return audio.Device{Name: "kept runs", Inputs: 2, Outputs: 2}
	}
	return *s.Device
}
