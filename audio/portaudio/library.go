package portaudio

import (
	"context"
	"fmt"
	"io"
	"sync/atomic"
	"time"

	"example.org/wheatear/audio"
)

// shared stands for the PortAudio library of this process. It is global because
// the library is: one list of devices and one state for all callers.
var shared = newLibrary(newDriver())

// library takes turns at a driver, counts its users, and bounds every call in time.
type library struct {
	drv   driver
	turn  chan struct{}          // holds a token while no call is being made
	doing atomic.Pointer[string] // the call being made
	users int                    // touched only by who has the turn
}

func newLibrary(drv driver) *library {
	l := &library{drv: drv, turn: make(chan struct{}, 1)}
	l.turn <- struct{}{}
	return l
}

// job is a call, or several, into the library.
type job struct {
	what  string // for messages, such as "opening a stream"
	limit time.Duration
	log   io.Writer // gets what the libraries print; nil drops it
	do    func() error
	undo  func() // after a do that was left behind has ended after all; may be nil
}

// call does the job in a goroutine of its own, with the standard error output of
// the process turned away. It returns when the job is done or the time is over.
// Then the job is left behind: it keeps the turn until it ends, whatever it has
// written is its own, and the error wraps [audio.ErrTimeout]. Likewise, with the
// error of ctx, when ctx ends.
func (l *library) call(ctx context.Context, j job) (left bool, err error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	timer := time.NewTimer(j.limit)
	defer timer.Stop()
	select {
	case <-l.turn:
	case <-ctx.Done():
		return false, ctx.Err()
	case <-timer.C:
		return false, l.timeout(j)
	}
	restore := hush(j.log)
	defer restore()
	var settled atomic.Bool // by the one of the two that comes first
	done := make(chan error, 1)
	go func() { done <- l.work(j, &settled) }()
	select {
	case err := <-done:
		return false, err
	case <-timer.C:
		err = l.timeout(j)
	case <-ctx.Done():
		err = ctx.Err()
	}
	if settled.CompareAndSwap(false, true) {
		return true, err
	}
	return false, <-done
}

// work does the job and gives the turn back.
func (l *library) work(j job, settled *atomic.Bool) error {
	l.doing.Store(&j.what)
	err := j.do()
	if !settled.CompareAndSwap(false, true) && j.undo != nil {
		j.undo()
	}
	l.doing.Store(nil)
	l.turn <- struct{}{}
	return err
}

// timeout says what did not come to its end: the job, or one before it.
func (l *library) timeout(j job) error {
	what := j.what
	if doing := l.doing.Load(); doing != nil {
		what = *doing
	}
	return fmt.Errorf("%w: %s has not returned after %.1f s; if that lasts, end this program and start it again",
		audio.ErrTimeout, what, j.limit.Seconds())
}

// acquire starts the library unless somebody uses it. Only from within a job.
func (l *library) acquire() error {
	if l.users == 0 {
		if err := l.drv.initialize(); err != nil {
			return err
		}
	}
	l.users++
	return nil
}

// release ends the library when nobody uses it any more. Only from within a job.
func (l *library) release() error {
	l.users--
	if l.users > 0 {
		return nil
	}
	return l.drv.terminate()
}
