package page

import (
	"fmt"
	"io"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// SortKind is the activity of sorting parts by a verdict.
const SortKind = "sorting"

// count1 judges what is in the jig without waiting.
const count1 poke = "count"

// SortRequest says what parts are judged by.
type SortRequest struct {
	Expect  string `json:"expect"` // a marking or a value with tolerance: 100nJ, 1k/1%
	At      string `json:"at"`
	Level   string `json:"level"`
	Bins    string `json:"bins"`   // as of the command: E24, 1%,5%,10%, 90n..100n,100n..110n; empty for none
	Lot     string `json:"lot"`    // name of the lot; empty for one after what is expected
	As      string `json:"as"`     // what parts are to be read as: C, Cs, Cp, …; empty for the circuit that fits
	Seconds string `json:"within"` // a part is recorded for this long at the most; empty for 3 s
}

// usualWithin is how long a part is recorded at the most.
const usualWithin = 3.0

// sortWants is a request understood.
type sortWants struct {
	SortRequest
	expected parts.Marking
	bins     *batch.Bins // nil for none
	as       impedance.Element
	level    *fixture.Level
	within   float64
}

// read understands a request. It is refused where it has no tolerance to judge by.
func (r SortRequest) read() (*sortWants, error) {
	w := &sortWants{SortRequest: r, within: usualWithin}
	var err error
	if w.expected, err = r.expected(); err != nil {
		return nil, err
	}
	if r.As != "" {
		if w.as, err = impedance.ParseElement(r.As); err == nil && w.as.Kind != impedance.ElementIn(w.expected.Unit.String()).Kind {
			err = fmt.Errorf("%s is not what a part of %s is judged by", r.As, r.Expect)
		}
		if err != nil {
			return nil, invalid("as: %s", report.Plain(err))
		}
	}
	if r.Bins != "" {
		if w.bins, err = batch.ParseBins(r.Bins, w.expected.Value, w.expected.Unit); err != nil {
			return nil, invalid("bins: %s", report.Plain(err))
		}
	}
	if _, err := oneTone(r.At); err != nil {
		return nil, err
	}
	if r.Seconds != "" {
		if w.within, err = parts.ParsePositive(r.Seconds, parts.Second); err != nil {
			return nil, invalid("seconds: %w", err)
		}
	}
	w.level, err = parseLevel(r.Level)
	return w, err
}

// expected is what parts are judged by.
func (r SortRequest) expected() (parts.Marking, error) {
	readings, err := parts.Read(r.Expect, parts.None)
	if err != nil {
		return parts.Marking{}, invalid("expected part: %w", err)
	}
	var usable []parts.Marking
	for _, m := range readings {
		if m.Tolerance.Given() && m.Value != 0 {
			usable = append(usable, m)
		}
	}
	if len(usable) == 0 {
		return parts.Marking{}, invalid("%q has no tolerance to judge by (F and H are units): write it as 100nJ or 100nF/5%%", r.Expect)
	}
	return parts.Likeliest(usable, r.Expect), nil
}

// StartSort sorts parts into a lot: each is counted by itself once its reading stands,
// or when a person says so. A lot that is there already goes on.
func (b *Bench) StartSort(req SortRequest, tab string) error {
	w, err := req.read()
	if err != nil {
		return err
	}
	return b.begin(SortKind, req.Expect, tab, func(a *activity, d *desk) error {
		l, err := b.openLot(d, w)
		if err != nil {
			return err
		}
		err = b.runSort(a, d, w, l)
		b.enterLot(d, l)
		return err
	})
}

// openLot opens the lot that a request is for and makes it that of the page.
func (b *Bench) openLot(d *desk, w *sortWants) (*lot, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if w.Lot == "" && d.sorting != nil && d.sorting.Expect == w.Expect {
		w.Lot = d.sorting.Lot // go on where the same is asked for as before
	}
	if w.Lot == "" {
		w.Lot = d.freeLot(w.Expect)
	}
	l, err := d.openLot(w, d.measurement())
	if err != nil {
		return nil, err
	}
	if d.sorting != nil {
		d.sorting.file.Close()
	}
	d.sorting = l
	defer b.changed()
	return l, d.keepSorting()
}

// measurement is what readings of parts rest on.
func (d *desk) measurement() *report.Measurement {
	m := &report.Measurement{Jig: d.jig, Cal: d.cal}
	if d.cal != nil {
		m.Calibration = calibrationName
	}
	return m
}

// runSort sorts until it is stopped, with the part detection, the records and the
// judging of the command.
func (b *Bench) runSort(a *activity, d *desk, w *sortWants, l *lot) error {
	session, err := b.session(a, d, w.level, false)
	if err != nil {
		return err
	}
	defer session.Close()
	tones, err := b.toneFor(d, w.At)
	if err != nil {
		return err
	}
	plan, err := session.Plan(a.ctx, tones)
	if err != nil {
		return err
	}
	freqHz := live.Frequencies(plan)[0]
	f := &feeder{bench: b, desk: d, act: a, lot: l, want: w, freqHz: freqHz, session: session}
	f.reader = &reader{bench: b, desk: d, session: session, plan: plan, what: live.Subject{Role: fixture.PartRole}}
	s := &live.Sorter{Session: session, Plan: plan, Cal: d.cal, Seconds: w.within, Feeder: f,
		NoneOhm: batch.NoneOhm(w.expected.Limits(), w.expected.Unit, freqHz), Occupied: !session.Simulated() && len(l.file.Parts()) > 0}
	defer f.stage(Idle, "")
	return s.Run(a.ctx)
}

// enterLot puts the lot into the notebook as the command does: whole, when sorting ends.
func (b *Bench) enterLot(d *desk, l *lot) {
	b.mu.Lock()
	fresh := l.entered != l.version && len(l.file.Parts()) > 0
	l.entered = l.version
	m, name := l.told(), l.Lot
	redo := d.redoLot(l)
	b.mu.Unlock()
	if fresh {
		doc := m.get().doc
		b.enter(d, doc.Expected, "lot "+name, nil, func(w io.Writer) error { return result.Write(w, doc) }, redo...)
	}
}

// TakeBackSorted takes the last part off the lot. Its number is given, so that no other
// is taken off by one who has not seen it yet.
func (b *Bench) TakeBackSorted(no int) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	l, err := b.lot()
	if err != nil {
		return err
	}
	if n := len(l.file.Parts()); n == 0 || n != no {
		return conflict("part %d is not the last of the lot, which has %d", no, n)
	}
	p, err := l.file.TakeBack()
	if err != nil {
		return err
	}
	l.count(p.Verdict, -1)
	l.version++
	if l.stage != Idle {
		l.cue = fmt.Sprintf("Part %d is taken back. Take it out, and put in part %d.", no, no)
	}
	b.changed()
	return nil
}

// ClearSort puts the lot aside, into a folder where it stays, and begins it anew.
func (b *Bench) ClearSort() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	l, err := b.lot()
	if err != nil {
		return err
	}
	defer b.changed()
	return b.desk.clearLot(l, b.opts.Now().Format("20060102-150405.000"))
}

// lot is that of the page. The lock is held.
func (b *Bench) lot() (*lot, error) {
	switch {
	case b.desk == nil:
		return nil, ErrNoJig
	case b.desk.sorting == nil:
		return nil, notFound("nothing has been sorted yet")
	}
	return b.desk.sorting, nil
}

// SortStage is what sorting waits for.
type SortStage string

// The stages.
const (
	Idle     SortStage = ""
	Empty    SortStage = "empty"    // put the next part in
	Settling SortStage = "settling" // hold it still
	Reading  SortStage = "reading"  // likewise
	Counted  SortStage = "counted"  // take it out
	Asked    SortStage = "asked"    // something is told that must be done
)

// SortView is the lot in short.
type SortView struct {
	Request   SortRequest `json:"request"`
	File      string      `json:"file"`
	Begun     *time.Time  `json:"begun"`   // the first part; null for none
	Version   int         `json:"version"` // another one where parts have come or gone
	Parts     int         `json:"parts"`
	Pass      int         `json:"pass"`
	Fail      int         `json:"fail"`
	Undecided int         `json:"undecided"`
	Stage     SortStage   `json:"stage"`
	Cue       string      `json:"cue"`  // what to do now
	Last      *SortedPart `json:"last"` // null for none
}
