package portaudio

import (
	"sync/atomic"
	"time"
)

// lateAfter is the time between two calls from which the later one is reported.
// The buffers asked for hold 0.1 s and a call brings some 0.02 s; a sound server
// may bunch its calls by 0.05 s.
const lateAfter = 200 * time.Millisecond

// logRoom bounds what is kept of the events of one direction. One family of
// drivers flags nearly every call though nothing is wrong.
const logRoom = 100

// entry is what a call had to tell.
type entry struct {
	frame int64         // frames recorded before the call
	flags flags         // bits that were set, 0 for a late call
	late  time.Duration // since the call before, for a late call
	floor time.Duration // how far calls were behind at best before it, for a late call
}

// side is one direction of a take, written by one thread.
//
// How far a call is behind is the time since the first call less the time that
// the frames delivered since then stand for. It varies with the driver's bunching,
// but its least value over a stretch of calls, the floor, grows only by frames
// that never came.
type side struct {
	calls  atomic.Int64
	first  time.Duration // of the first call
	last   time.Duration // of the call before
	frames int64         // delivered after the first call
	floor  atomic.Int64  // nanoseconds, since the last late call
	since  atomic.Int64  // calls since the last late call
	log    [logRoom]entry
	logged atomic.Int32 // entries of log that may be read
	more   atomic.Int64 // that found no room
}

// called counts a call that brings frames at the time now. at is where the record
// is before them.
func (s *side) called(now time.Duration, frames int, perSecond float64, at int64, f flags) {
	if s.calls.Load() == 0 {
		s.first = now
	} else {
		s.frames += int64(frames)
		s.judge(now, perSecond, at)
	}
	s.last = now
	if f &= reported; f != 0 {
		s.add(entry{frame: at, flags: f})
	}
	s.calls.Add(1)
}

// judge looks whether the call is late and how far the stream is behind.
func (s *side) judge(now time.Duration, perSecond float64, at int64) {
	if late := now - s.last; late > lateAfter {
		s.add(entry{frame: at, late: late, floor: time.Duration(s.floor.Load())})
		s.since.Store(0)
	}
	behind := int64(now-s.first) - int64(float64(s.frames)/perSecond*1e9)
	if n := s.since.Add(1); n == 1 || behind < s.floor.Load() {
		s.floor.Store(behind)
	}
}

// add keeps an entry if there is room.
func (s *side) add(e entry) {
	n := s.logged.Load()
	if n == logRoom {
		s.more.Add(1)
		return
	}
	s.log[n] = e
	s.logged.Store(n + 1)
}
