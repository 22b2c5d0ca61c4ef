package portaudio

import (
	"math"
	"sync"
	"sync/atomic"
	"time"
)

// scripted stands in the place of the library in tests that need no server: its
// streams call as a card's would, one millisecond for each block of 480 frames,
// and the input hears the output of the same stream, or silence.
type scripted struct {
	list []Device
	fail error   // of open, unless the rate is one of rates
	rate float64 // the only one accepted; 0 means all

	hangStart chan struct{} // initialize waits for it
	hangOpen  chan struct{} // open likewise
	hangClose chan struct{} // close likewise
	dieAfter  atomic.Int64  // calls, 0 for never
	deaf      bool          // the input is never called

	mu      sync.Mutex
	started int // initialize less terminate
	lists   int // how often initialize was called
	opened  int // streams open
}

const blockFrames = 480

func await(c chan struct{}) {
	if c != nil {
		<-c
	}
}

func (d *scripted) initialize() error {
	await(d.hangStart)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.started++
	d.lists++
	return nil
}

func (d *scripted) terminate() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.started--
	return nil
}

func (d *scripted) devices() ([]Device, error) { return d.list, nil }

func (d *scripted) supports(p params) bool { return d.rate == 0 || p.rateHz == d.rate }

func (d *scripted) open(p params, t *take) (stream, error) {
	await(d.hangOpen)
	if !d.supports(p) {
		return nil, d.fail
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.opened++
	return &scriptedStream{d: d, p: p, t: t, stop: make(chan struct{}), done: make(chan struct{})}, nil
}

// state returns how many times the library is started, how often it was, and how
// many streams are open.
func (d *scripted) state() (started, lists, opened int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.started, d.lists, d.opened
}

type scriptedStream struct {
	d          *scripted
	p          params
	t          *take
	stop, done chan struct{}
}

func (s *scriptedStream) start() error {
	go s.play()
	return nil
}

func (s *scriptedStream) play() {
	defer close(s.done)
	in := make([]float32, blockFrames*s.p.inCh)
	out := make([]float32, blockFrames*s.p.outCh)
	tick := time.NewTicker(time.Millisecond)
	defer tick.Stop()
	life := s.d.dieAfter.Load()
	for n := int64(0); life == 0 || n < life; n++ {
		switch {
		case s.p.in == nil:
			s.t.onOutput(out, 0)
		case s.p.out == nil && !s.d.deaf:
			s.t.onInput(in, 0)
		case s.p.out != nil:
			copyChannels(in, s.p.inCh, out, s.p.outCh)
			s.t.onDuplex(in, out, 0)
		}
		select {
		case <-s.stop:
			return
		case <-tick.C:
		}
	}
}

// copyChannels gives input k what output k had in the block before.
func copyChannels(in []float32, inCh int, out []float32, outCh int) {
	for i := range len(in) / inCh {
		for k := range min(inCh, outCh) {
			in[i*inCh+k] = out[i*outCh+k]
		}
	}
}

func (s *scriptedStream) abort() error {
	close(s.stop)
	<-s.done
	return nil
}

func (s *scriptedStream) close() error {
	await(s.d.hangClose)
	s.d.mu.Lock()
	defer s.d.mu.Unlock()
	s.d.opened--
	return nil
}

func (s *scriptedStream) info() (streamInfo, bool) {
	return streamInfo{rateHz: s.p.rateHz, inLatency: 10 * time.Millisecond}, true
}

// sine is amplitude times the sine of a frequency.
func sine(freqHz, rateHz, amplitude float64, frames int) []float64 {
	out := make([]float64, frames)
	for i := range out {
		out[i] = amplitude * math.Sin(2*math.Pi*freqHz/rateHz*float64(i))
	}
	return out
}
