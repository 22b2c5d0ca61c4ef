package cli

import (
	"fmt"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/lockin/batch"
)

// someone is asked to put parts in and to take them out.
type someone struct {
	*sorter
	begun bool
	stuck int // spoilt glimpses in a row
	told  bool
}

// Next implements [live.Feeder].
func (p *someone) Next() (bool, error) {
	if !p.more() {
		return false, nil
	}
	n := len(p.file.Parts()) + 1
	p.stuck, p.told = 0, false
	if !p.begun {
		p.begun = true
		text := "Put part %d in."
		if n > 1 {
			text = "Take out what is in the jig, then put part %d in."
		}
		p.app.say(text+" Ctrl-C ends the run.", n)
	}
	return true, nil
}

// Name implements [live.Feeder].
func (p *someone) Name() string { return p.named(fmt.Sprintf("part %d", len(p.file.Parts())+1)) }

// Again implements [live.Feeder].
func (p *someone) Again() error {
	p.app.say("Take it out, look after the contacts, and put it in once more.")
	return nil
}

// Out implements [live.Feeder].
func (p *someone) Out() (bool, error) {
	if p.more() {
		p.app.say("Take it out, and put part %d in.", len(p.file.Parts())+1)
	}
	return p.more(), nil
}

// Patience implements [live.Feeder].
func (p *someone) Patience() int { return 0 }

// longTrouble is how many spoilt glimpses in a row are worth a word.
const longTrouble = 15

// See implements [live.Feeder]: why nothing can be read for long is told, once.
func (p *someone) See(seen live.Seen, e batch.Event) live.Wish {
	if p.stuck++; !seen.Bad {
		p.stuck = 0
	}
	if p.stuck >= longTrouble && !p.told {
		p.told = true
		p.tellTrouble(seen)
	}
	return p.sorter.See(seen, e)
}

// script moves the parts of the simulated jig.
type script struct {
	*sorter
	left []string // to come
	in   string
}

// newScript takes the parts that were named, or all of the tray, without those that the
// run has already.
func newScript(o *sorter) *script {
	names := o.f.parts
	if len(names) == 0 {
		names = o.work.Parts()
	}
	s := &script{sorter: o}
	for _, n := range names {
		if !o.there(n) {
			s.left = append(s.left, n)
		}
	}
	return s
}

// Next implements [live.Feeder].
func (s *script) Next() (bool, error) {
	if len(s.left) == 0 || !s.more() {
		return false, nil
	}
	s.in, s.left = s.left[0], s.left[1:]
	return true, s.work.Put(s.in)
}

// Name implements [live.Feeder].
func (s *script) Name() string { return s.named(s.in) }

// Again implements [live.Feeder].
func (s *script) Again() error {
	if err := s.work.Put(nothing); err != nil {
		return err
	}
	return s.work.Put(s.in)
}

// nothing is what the simulated jig calls empty terminals.
const nothing = "open"

// Out implements [live.Feeder].
func (s *script) Out() (bool, error) { return s.more(), s.work.Put(nothing) }

// Patience implements [live.Feeder].
func (s *script) Patience() int { return 12 }
