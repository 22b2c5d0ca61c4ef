package bench

import (
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// SortKind is the activity of sorting parts by a verdict.
const SortKind = "sorting"

// count1 counts the part that is in the jig.
const count1 poke = "count"

// SortRequest says what parts are judged by.
type SortRequest struct {
	Expect string `json:"expect"` // a marking or a value with tolerance: 100nJ, 1k/1%
	At     string `json:"at"`
	Level  string `json:"level"`
}

// Sorting is a lot of parts that are being sorted, as its file keeps it.
type Sorting struct {
	Schema  string       `json:"schema"`
	Request SortRequest  `json:"request"`
	Begun   time.Time    `json:"begun"`
	Parts   []SortedPart `json:"parts"`
}

// SortedPart is one part and what was said of it.
type SortedPart struct {
	No      int             `json:"no"`
	Time    time.Time       `json:"time"`
	Part    string          `json:"part"`
	Verdict Verdict         `json:"verdict"`
	Head    report.Headline `json:"headline"`
}

// Verdict is what a reading says of the part expected.
type Verdict struct {
	Outcome parts.Outcome `json:"outcome"` // pass, fail or undecided
	Text    string        `json:"text"`
}

const (
	sortSchema = "wheatear.sorting/1"
	sortName   = "sorting.json"
	mostSorted = 100000
)

// SortView is the lot in figures.
type SortView struct {
	Request   SortRequest `json:"request"`
	Pass      int         `json:"pass"`
	Fail      int         `json:"fail"`
	Undecided int         `json:"undecided"`
}

func (s *Sorting) view() *SortView {
	if s == nil {
		return nil
	}
	v := &SortView{Request: s.Request}
	for _, p := range s.Parts {
		switch p.Verdict.Outcome {
		case parts.Pass:
			v.Pass++
		case parts.Fail:
			v.Fail++
		default:
			v.Undecided++
		}
	}
	return v
}

func (d *desk) readSorting() error {
	var s Sorting
	if err := readJSON(d.path(sortName), &s); err != nil || s.Schema != sortSchema {
		return err
	}
	d.sorting = &s
	return nil
}

// expected reads what parts are judged by.
func (r SortRequest) expected() ([]parts.Marking, error) {
	readings, err := parts.Read(r.Expect, parts.None)
	if err != nil {
		return nil, invalid("expected part: %w", err)
	}
	var out []parts.Marking
	for _, m := range readings {
		if m.Tolerance.Given() && m.Value != 0 {
			out = append(out, m)
		}
	}
	if len(out) == 0 {
		return nil, invalid("%q has no tolerance to judge by: write it as 100nJ or 100n/5%%", r.Expect)
	}
	return out, nil
}

// StartSort sorts parts: each is counted by itself once its reading stands, or when a
// person says so. The lot goes on where the same is asked for as before.
func (b *Bench) StartSort(req SortRequest, tab string) error {
	expected, err := req.expected()
	if err != nil {
		return err
	}
	if _, err := oneTone(req.At); err != nil {
		return err
	}
	level, err := parseLevel(req.Level)
	if err != nil {
		return err
	}
	return b.begin(SortKind, req.Expect, tab, func(a *activity, d *desk) error {
		b.mu.Lock()
		if d.sorting == nil || d.sorting.Request != req {
			d.sorting = &Sorting{Schema: sortSchema, Request: req, Begun: b.opts.Now(), Parts: []SortedPart{}}
		}
		b.changed()
		b.mu.Unlock()
		return b.runSort(a, d, req, level, expected)
	})
}

func (b *Bench) runSort(a *activity, d *desk, req SortRequest, level *fixture.Level, expected []parts.Marking) error {
	s := &sorter{bench: b, desk: d, expected: expected}
	for {
		session, err := b.session(a, d, level, false)
		if err != nil {
			return err
		}
		asked, err := b.sortStream(a, d, session, req, s)
		if closed := session.Close(); err == nil {
			err = closed
		}
		if err != nil {
			return err
		}
		switch asked {
		case again: // another part of the tray
			s.removed()
		case count1:
			if err := s.count(); err != nil {
				return err
			}
		}
	}
}

func (b *Bench) sortStream(a *activity, d *desk, session *live.Session, req SortRequest, s *sorter) (poke, error) {
	tones, err := b.toneFor(d, req.At)
	if err != nil {
		return "", err
	}
	plan, err := session.Steady(a.ctx, tones, streamSeconds)
	if err != nil {
		return "", err
	}
	r := &reader{bench: b, desk: d, session: session, plan: plan, sorter: s, what: live.Subject{Role: fixture.PartRole, Name: b.partName(d, "")}}
	return a.listen(session, plan, r.show)
}

// sorter judges readings and counts each part once.
type sorter struct {
	bench    *Bench
	desk     *desk
	expected []parts.Marking

	last    *SortedPart // as read last; nil for nothing
	modulus float64     // of it
	stood   int         // readings in a row that agree with it
	counted bool
}

// standing readings in a row are a part that nobody moves.
const standing = 4

// judge says what a reading means for the part, and counts the part if it is time.
func (s *sorter) judge(u *Update, c *fixture.Corrected) error {
	j, err := c.Judge(s.expected, parts.Rule{}, impedance.Config{Trials: liveTrials})
	if err != nil {
		return err
	}
	u.Verdict = &Verdict{j.Outcome, report.Judged(j)}
	if !c.Trusted || c.Reading.State != impedance.OK {
		s.removed()
		return nil
	}
	s.follow(c.Reading.Modulus.Value)
	s.last = &SortedPart{Time: u.Time, Part: u.Part, Verdict: *u.Verdict, Head: u.Sheet.Headline}
	if s.stood < standing || s.counted {
		return nil
	}
	return s.count()
}

// follow tells a part that stands from one that is being moved, or another one.
func (s *sorter) follow(modulus float64) {
	const same, other = 0.003, 0.2 // relative changes; common practice, no source
	change := math.Abs(modulus/s.modulus - 1)
	switch {
	case s.last == nil || !(change < other):
		s.counted, s.stood = false, 0
	case change < same:
		s.stood++
	default:
		s.stood = 0
	}
	s.modulus = modulus
}

// removed is for terminals that are open or joined, or a part that was changed.
func (s *sorter) removed() { s.last, s.counted, s.stood = nil, false, 0 }

// count adds the part that is in the jig to the lot.
func (s *sorter) count() error {
	if s.last == nil {
		return nil
	}
	s.counted = true
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	lot := s.desk.sorting
	if len(lot.Parts) >= mostSorted {
		return conflict("%d parts are enough for one lot; clear it", mostSorted)
	}
	p := *s.last
	p.No = len(lot.Parts) + 1
	lot.Parts = append(lot.Parts, p)
	defer b.changed()
	return writeJSON(s.desk.path(sortName), lot)
}

// Sorted is the lot; nil where none was begun.
func (b *Bench) Sorted() *Sorting {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.desk == nil || b.desk.sorting == nil {
		return nil
	}
	lot := *b.desk.sorting // its parts are only ever added to
	return &lot
}

// ClearSort forgets the lot.
func (b *Bench) ClearSort() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch {
	case b.desk == nil:
		return ErrNoJig
	case b.active != nil && b.active.Kind == SortKind:
		b.desk.sorting = &Sorting{Schema: sortSchema, Request: b.desk.sorting.Request, Begun: b.opts.Now(), Parts: []SortedPart{}}
	default:
		b.desk.sorting = nil
	}
	defer b.changed()
	return writeJSON(b.desk.path(sortName), b.desk.sorting)
}
