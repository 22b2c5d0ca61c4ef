package cli

import (
	"fmt"

	"example.org/wheatear/lockin/batch"
)

// hand puts parts in and takes them out.
type hand interface {
	next() (name string, err error) // has the next part put in; "" where there is none
	again() error                   // has the same part put in once more
	out() error                     // has the part taken out
	patience() int                  // glimpses to wait for what it was asked for; 0 for ever
	ends() bool                     // the run is over when it is interrupted
	givesUp() bool                  // a part that cannot be read is put down as such
}

// someone is asked.
type someone struct {
	*sorter
	begun bool
}

func (p *someone) next() (string, error) {
	n := len(p.file.Parts()) + 1
	if !p.begun {
		p.begun = true
		text := "Put part %d in."
		if n > 1 {
			text = "Take out what is in the jig, then put part %d in."
		}
		p.app.say(text+" Ctrl-C ends the run.", n)
	}
	return fmt.Sprintf("part %d", n), nil
}

func (p *someone) again() error {
	p.app.say("Take it out, look after the contacts, and put it in once more.")
	p.here = batch.Occupied()
	return p.await(batch.Leaving)
}

func (p *someone) out() error {
	p.app.say("Take it out, and put part %d in.", len(p.file.Parts())+1)
	return nil
}

func (p *someone) patience() int { return 0 }
func (p *someone) ends() bool    { return true }
func (p *someone) givesUp() bool { return false }

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

func (s *script) next() (string, error) {
	if len(s.left) == 0 {
		return "", nil
	}
	s.in, s.left = s.left[0], s.left[1:]
	return s.in, s.work.Put(s.in)
}

func (s *script) again() error {
	if err := s.work.Put(nothing); err != nil {
		return err
	}
	return s.work.Put(s.in)
}

// nothing is what the simulated jig calls empty terminals.
const nothing = "open"

func (s *script) out() error { return s.work.Put(nothing) }

func (s *script) patience() int { return 12 }
func (s *script) ends() bool    { return false }
func (s *script) givesUp() bool { return true }
