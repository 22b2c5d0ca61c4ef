package page

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/report"
)

// Kinds of activity.
const (
	LiveKind        = "live reading"
	CalibrationKind = "calibration"
	SweepKind       = "sweep"
	ReadingKind     = "reading"
)

// activity has the card while it lasts.
type activity struct {
	Kind  string    `json:"kind"`
	What  string    `json:"what"` // such as the name of the part
	Since time.Time `json:"since"`
	Tab   string    `json:"tab"` // of the page that began it

	ctx    context.Context
	cancel context.CancelCauseFunc
	done   chan struct{}
	pokes  chan poke // what a person wants of it meanwhile
	bench  *Bench

	resume bool   // the live reading that gave way
	ended  func() // called when the card is free again; nil for nothing

	mu    sync.Mutex
	shown time.Time // when progress was told last
}

// poke asks an activity to do something.
type poke string

// Pokes.
const (
	again      poke = "again"  // something has changed: begin anew
	pokeRecord poke = "record" // what is connected is right
	skip       poke = "skip"
)

// ErrStopped is the cause of an end that a person asked for.
var ErrStopped = errors.New("stopped")

// ErrCautions says that nobody has confirmed the cautions.
var ErrCautions = errors.New("page: read the cautions on the first page, and confirm them, before the first tone")

// BusyError says who has the card.
type BusyError struct{ Owner activityView }

func (e *BusyError) Error() string {
	what := e.Owner.Kind
	if e.Owner.What != "" {
		what += " of " + e.Owner.What
	}
	return fmt.Sprintf("the card is in use: %s, begun at %s by %s; end it, or wait for it", what, e.Owner.Since.Format("15:04:05"), e.Owner.by())
}

// activityView is what others see of an activity.
type activityView struct {
	Kind  string    `json:"kind"`
	What  string    `json:"what"`
	Since time.Time `json:"since"`
	Tab   string    `json:"tab"`
}

// by says who began it.
func (v activityView) by() string {
	if v.Tab == "" {
		return "a program"
	}
	return "a page"
}

func (a *activity) view() activityView { return activityView{a.Kind, a.What, a.Since, a.Tab} }

// busy is the refusal of a second activity. The lock is held.
func (b *Bench) busy() error { return &BusyError{b.active.view()} }

// begin gives the card to an activity, which runs until its function returns. A live
// reading gives way to whoever began it; anything else must end first.
func (b *Bench) begin(kind, what, tab string, run func(*activity, *desk) error) error {
	return b.beginThen(kind, what, tab, run, nil)
}

// beginThen is begin with something to do when the card is free again.
func (b *Bench) beginThen(kind, what, tab string, run func(*activity, *desk) error, ended func()) error {
	gaveWay := false
	for {
		b.mu.Lock()
		if b.desk == nil {
			b.mu.Unlock()
			return ErrNoJig
		}
		if b.saved.Cautions == nil {
			b.mu.Unlock()
			return ErrCautions
		}
		old := b.active
		if old == nil {
			break // with the lock
		}
		if old.Kind != LiveKind || old.Tab != tab {
			defer b.mu.Unlock()
			return b.busy()
		}
		b.mu.Unlock()
		old.cancel(ErrStopped)
		<-old.done
		gaveWay = true
	}
	defer b.mu.Unlock()
	if b.ctx.Err() != nil {
		return errors.New("page: the program is ending")
	}
	a := &activity{Kind: kind, What: what, Since: b.opts.Now(), Tab: tab, bench: b, done: make(chan struct{}), pokes: make(chan poke, 1)}
	a.ctx, a.cancel = context.WithCancelCause(b.ctx)
	a.resume, a.ended = gaveWay && kind == ReadingKind, ended
	b.active, b.notice = a, nil
	b.live.last = nil // what was read before is not live any more
	go b.runActivity(a, b.desk, run)
	b.changed()
	return nil
}

// runActivity runs one to its end.
func (b *Bench) runActivity(a *activity, d *desk, run func(*activity, *desk) error) {
	err := run(a, d)
	removed := b.prune(d) // while nobody else has the card
	b.release(a, err)
	b.add(removed)
	if a.ended != nil {
		a.ended()
	}
	if a.resume && !interrupted(err) {
		_ = b.begin(LiveKind, b.liveSettings().Part, a.Tab, b.runLive) // unless somebody was quicker
	}
}

// release gives the card back and tells how the activity went.
func (b *Bench) release(a *activity, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err != nil && !interrupted(err) {
		b.notice = &Notice{b.opts.Now(), "The " + a.Kind + " ended: " + report.Plain(err) + ".", true}
		b.counts.failed.Add(1)
	}
	b.active = nil
	a.cancel(nil)
	close(a.done)
	b.changed()
}

// Stop ends what has the card, whoever began it, and waits for it.
func (b *Bench) Stop() {
	b.mu.Lock()
	a := b.active
	b.mu.Unlock()
	if a == nil {
		return
	}
	a.cancel(ErrStopped)
	<-a.done
}

// poke asks the activity of a kind to do something; one that already waits for
// another answer takes no second.
func (b *Bench) poke(kind string, p poke) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.active == nil || b.active.Kind != kind {
		return conflict("there is no %s under way", kind)
	}
	b.active.poke(p)
	return nil
}

func (a *activity) poke(p poke) {
	select {
	case a.pokes <- p:
	default:
	}
}

// Progress is how far a record is.
type Progress struct {
	Seconds float64 `json:"seconds"`
	Of      float64 `json:"of"`
}

// progress tells the pages, a few times a second.
func (a *activity) progress(seconds, of float64) {
	const every = 100 * time.Millisecond
	a.mu.Lock()
	defer a.mu.Unlock()
	now := time.Now()
	if now.Sub(a.shown) < every && seconds < of {
		return
	}
	a.shown = now
	a.bench.hub.send("progress", Progress{seconds, of})
}
