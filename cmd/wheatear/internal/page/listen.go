package page

import (
	"context"
	"sync"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

const (
	streamSeconds = 30.0                   // a stream is begun anew after that; it is in memory as long
	settleSeconds = 0.2                    // of a stream are not looked at: the card's delay, the tone coming up
	windowSeconds = 0.2                    // are read at once, or as many cycles as it takes
	liveEvery     = 100 * time.Millisecond // a reading, unless it takes long
	liveShare     = 3                      // a reading takes one part in so many of the time at the most
)

// ear listens to a stream and shows what it heard last, again and again.
type ear struct {
	session *live.Session
	plan    *stimulus.Plan
	paced   bool // the card is simulated and would be faster than the clock

	mu    sync.Mutex
	heard *window
	fresh chan struct{} // holds a token when the window has moved on
}

// listen streams the plan until the context ends, an activity is poked, or show
// fails. It returns the poke.
func (a *activity) listen(s *live.Session, plan *stimulus.Plan, show func(record.Signal) error) (poke, error) {
	rate := plan.Config.RateHz
	seconds := windowSeconds
	for _, f := range live.Frequencies(plan) {
		seconds = max(seconds, live.LeastSeconds(f))
	}
	e := &ear{session: s, plan: plan, paced: s.Simulated(), fresh: make(chan struct{}, 1), heard: newWindow(rate, int(seconds*rate))}
	ctx, cancel := context.WithCancelCause(a.ctx)
	defer cancel(nil)
	shown := make(chan error, 1)
	go func() {
		err := e.show(ctx, show)
		cancel(err)
		shown <- err
	}()
	var asked poke
	err := e.stream(ctx, a.pokes, &asked)
	cancel(nil)
	if failed := <-shown; failed != nil {
		return asked, failed
	}
	if asked != "" {
		return asked, nil
	}
	if cause := context.Cause(a.ctx); cause != nil {
		return "", cause
	}
	return asked, err
}

// stream fills the window at the pace of the clock.
func (e *ear) stream(ctx context.Context, pokes <-chan poke, asked *poke) error {
	began := time.Now()
	skip := int64(settleSeconds * e.plan.Config.RateHz)
	return e.session.Stream(ctx, e.plan, func(first int64, block [][]float64) bool {
		e.mu.Lock()
		e.heard.add(block)
		full := e.heard.full(skip)
		e.mu.Unlock()
		if full {
			select {
			case e.fresh <- struct{}{}:
			default:
			}
		}
		due := time.Duration(0)
		if e.paced {
			due = time.Until(began.Add(time.Duration(float64(first) / e.plan.Config.RateHz * float64(time.Second))))
		}
		select {
		case *asked = <-pokes:
			return false
		case <-ctx.Done():
			return false
		case <-time.After(max(0, due)):
			return true
		}
	})
}

// show calls its function with the window, as often as it may.
func (e *ear) show(ctx context.Context, show func(record.Signal) error) error {
	var sig record.Signal
	due := time.Now()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-e.fresh:
		}
		began := time.Now()
		e.mu.Lock()
		e.heard.copyTo(&sig)
		e.mu.Unlock()
		if err := show(sig); err != nil {
			return err
		}
		took := time.Since(began)
		due = due.Add(liveEvery)
		if late := began.Add(liveShare * took); late.After(due) {
			due = late
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(time.Until(due)):
		}
	}
}
