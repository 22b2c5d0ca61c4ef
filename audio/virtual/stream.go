package virtual

import (
	"fmt"
	"math"
)

// Stream is a card at work: it takes the drive as it comes and gives frames. How
// the drive is divided makes no difference to them. It is not safe for concurrent
// use, and holds no goroutine.
type Stream struct {
	player *player
	stages []stage
	faults Faults
	late   []float64 // drive that is still on its way, for the latency
	taken  int64     // samples of the drive
	failed error
	a, b   []frame
}

// newStream starts at rest.
func newStream(j Jig, in inserted, f Faults, rateHz float64, seed, run uint64, k *kernel) (*Stream, error) {
	p, err := newPlayer(j.hooked(in.hookup).build(in), rateHz, k)
	if err != nil {
		return nil, err
	}
	return &Stream{player: p, stages: f.stages(rateHz, seed, run, k), faults: f, late: make([]float64, f.LatencyFrames)}, nil
}

// Process appends to dst what the two inputs give for the samples of the drive,
// full scale 1, input after input within each frame: as many frames as there are
// samples, but for a clock error, a resampling or a drop. What comes in is heard
// after a delay that depends on the faults, never on the part.
//
// A sample that is infinite or not a number, and a part that cannot be solved at
// the level it is given, are errors; the stream has then ended.
func (s *Stream) Process(dst []float64, drive []float64) ([]float64, error) {
	if s.failed != nil {
		return dst, s.failed
	}
	for i, v := range drive {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			s.failed = fmt.Errorf("virtual: sample %d of the drive is %g; play finite samples", s.taken+int64(i), v)
			return dst, s.failed
		}
	}
	s.taken += int64(len(drive))
	s.late = append(s.late, drive...)
	s.a, s.failed = s.player.process(s.a[:0], s.late[:len(drive)])
	if s.failed != nil {
		return dst, s.failed
	}
	n := copy(s.late, s.late[len(drive):])
	s.late = s.late[:n]
	for _, st := range s.stages {
		s.b = st.process(s.b[:0], s.a)
		s.a, s.b = s.b, s.a
	}
	for _, y := range s.a {
		dst = append(dst, y[0], y[1])
	}
	return dst, nil
}
