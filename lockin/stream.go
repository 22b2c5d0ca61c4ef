package lockin

import (
	"math"

	"example.org/wheatear/lockin/internal/filter"
	"example.org/wheatear/lockin/internal/follow"
)

// stream is what a Demodulator does once the samples are float64 at full scale 1: it
// gathers blocks that stand at fixed places in the stream, mixes and filters them.
type stream struct {
	every  int64
	refs   int
	freqHz float64 // of the first tone; NaN with an external reference

	frame int64       // the next one's index
	fill  int         // frames waiting in x
	end   int         // frames of the present block
	x     [][]float64 // [channel]

	lock        *follow.Lock
	lockChannel int
	oscillators []*filter.Oscillator // with tones that are mixed frame by frame
	harmonics   []int
	w           []filter.Mixer // [reference]
	wRe, wIm    [][]float64    // for the frames of a block
	filter      filter.Filter

	settle int64 // frames until settled
	since  int64 // frames since the last disturbance
	lost   bool  // frames are missing since the last output
}

func newStream(p *plan) *stream {
	s := &stream{
		every: int64(p.Every), refs: p.references(), freqHz: math.NaN(),
		lock: p.lock(), lockChannel: p.Lock.Channel, harmonics: p.Harmonics,
		filter: p.filter(), settle: p.settleFrames(),
	}
	if len(p.TonesHz) > 0 {
		s.freqHz = p.TonesHz[0]
	}
	room := mostRoom
	for range p.Channels {
		s.x = append(s.x, make([]float64, room))
	}
	if p.mixesApart() {
		s.w = make([]filter.Mixer, s.refs)
		for r := range s.refs {
			s.wRe, s.wIm = append(s.wRe, make([]float64, room)), append(s.wIm, make([]float64, room))
			if p.steps != nil {
				s.oscillators = append(s.oscillators, filter.NewOscillator(p.steps[r]))
			}
		}
	}
	s.place()
	return s
}

// mostRoom bounds a block.
const mostRoom = filter.LongestBlock

func (s *stream) reset() {
	s.frame, s.fill, s.since, s.lost = 0, 0, 0, false
	s.filter.Reset()
	if s.lock != nil {
		s.lock.Reset()
	}
	s.place()
}

// place begins a block. Where blocks have no fixed places, they do not go beyond what the
// lock gathers before it changes: then its state is one for all frames of a block.
func (s *stream) place() {
	s.fill, s.end = 0, s.filter.Room(s.frame)
	if s.lock != nil && !s.filter.Whole() {
		s.end = min(s.end, s.lock.Left())
	}
}

// room returns how many frames may come before took.
func (s *stream) room() int { return s.end - s.fill }

// external takes reference values for the frames just copied behind those that wait,
// and returns how many come before the first that is not finite.
func (s *stream) external(ref []complex128) int {
	for i, v := range ref {
		if d := real(v)*0 + imag(v)*0; d != 0 {
			return i
		}
		for r, h := range s.harmonics {
			u := power(v, h)
			s.wRe[r][s.fill+i], s.wIm[r][s.fill+i] = real(u), -imag(u)
		}
	}
	return len(ref)
}

// power returns v to the n-th, n ≥ 1, by squaring.
func power(v complex128, n int) complex128 {
	out := v
	for n--; n > 0; n >>= 1 {
		if n&1 == 1 {
			out *= v
		}
		v *= v
	}
	return out
}

// took counts n frames copied to x, and filters the block once it is whole.
func (s *stream) took(r *Result, n int) {
	s.fill += n
	s.frame += int64(n)
	if s.fill == s.end || !s.filter.Whole() {
		s.flush(r)
		s.place()
	}
}

// skip filters what waits and lets n frames pass.
func (s *stream) skip(n int64) {
	if s.fill > 0 {
		s.flush(nil)
	}
	s.filter.Gap(n)
	if s.lock != nil {
		s.lock.Gap(n)
	}
	s.frame += n
	s.since, s.lost = 0, true
	s.place()
}

// flush filters the frames that wait, which end before s.frame.
func (s *stream) flush(r *Result) {
	n := s.fill
	b := filter.Block{X: s.x, W: s.w, End: s.frame}
	for ch := range s.x {
		s.x[ch] = s.x[ch][:n]
	}
	outputs := int(s.frame/s.every - (s.frame-int64(n))/s.every)
	if outputs > 0 {
		b.Out = s.grow(r, outputs)
	}
	s.markWithin(r, outputs)
	s.mix(n)
	s.filter.Run(b)
	if s.lock != nil && s.lock.Jumped() {
		s.since = -int64(n)
	}
	s.since += int64(n)
	if outputs > 0 && s.frame%s.every == 0 {
		s.mark(r, s.frame, s.since)
	}
	for ch := range s.x {
		s.x[ch] = s.x[ch][:mostRoom]
	}
	s.fill = 0
}

// mix sets w for the frames that wait.
func (s *stream) mix(n int) {
	for i := range s.w {
		s.w[i] = filter.Mixer{Re: s.wRe[i][:n], Im: s.wIm[i][:n]}
	}
	if s.lock != nil {
		s.lock.Run(s.x[s.lockChannel], s.wRe, s.wIm)
	}
	for i, o := range s.oscillators {
		o.Fill(s.w[i], s.frame-int64(n))
	}
}

// grow appends room for outputs to the result and returns it.
func (s *stream) grow(r *Result, outputs int) []complex128 {
	at, n := len(r.Phasors), outputs*s.refs*len(s.x)
	for cap(r.Phasors) < at+n {
		r.Phasors = append(r.Phasors[:cap(r.Phasors)], 0)
	}
	r.Phasors = r.Phasors[:at+n]
	return r.Phasors[at:]
}

// markWithin appends the marks of the outputs inside the block that is about to be
// filtered, before the lock sees it.
func (s *stream) markWithin(r *Result, outputs int) {
	if outputs == 0 {
		return
	}
	begin := s.frame - int64(s.fill)
	for at := begin + s.every - begin%s.every; at < s.frame; at += s.every {
		s.mark(r, at, s.since+at-begin)
	}
}

// mark appends the mark of an output, so many frames after the last disturbance.
func (s *stream) mark(r *Result, frame, since int64) {
	m := Mark{Frame: frame, FreqHz: s.freqHz, Flags: Locked}
	if s.lock != nil {
		m.FreqHz, m.Flags = s.lock.FreqHz(), lockFlags(s.lock.Take())
	}
	if since >= s.settle {
		m.Flags |= Settled
	}
	if s.lost {
		m.Flags |= Lost
	}
	s.lost = false
	r.Marks = append(r.Marks, m)
}

func lockFlags(t follow.Status) Flags {
	switch {
	case t.Held:
		return Held
	case t.Unlocked:
		return 0
	}
	return Locked
}
