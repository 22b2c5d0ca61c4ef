package batch

import "math"

// Succession follows parts that are put in one after the other by hand: a [Presence]
// that knows which part was dealt with last. It doubts what may be the same part once
// more, and notices what may be another one that nobody saw put in. The zero value
// begins with an empty jig.
type Succession struct {
	Presence
	kept    Glimpse // of the part that was dealt with last
	any     bool    // there was one
	certain bool    // it has been exchanged since then
	away    int     // glimpses without a part, the last ones in a row
	strange int     // glimpses in a row that another part would give
}

// These are told by a [Succession] alone.
const (
	Doubtful Event = iota + 100 // it stands, but may be the part before it, whose contact failed for a moment
	Strange                     // what rests in the jig reads otherwise than the part that was dealt with; told once
)

const (
	// moment is how many glimpses a contact may fail for: a hand that exchanges parts
	// takes longer. Common practice, no source.
	moment = 3
	// otherwise is by how much another part reads differently, relative, and insist for
	// how many glimpses: warmth and bad contacts do less, or not as steadily. Likewise.
	otherwise = 0.05
	insist    = 6
)

// Step takes a glimpse. Where a part stands that has been away for no longer than a
// moment, and reads within noise as the one before, it is Doubtful instead of Settled:
// taken out for longer and put in again it is taken for another one.
func (s *Succession) Step(g Glimpse) Event {
	before := s.Presence.last
	e := s.Presence.Step(g)
	switch {
	case g.Open:
		s.away++
		s.strange = 0
		return e
	case e == Resting:
		s.away = 0
		return s.resting(g, before)
	case e == Settled && s.any && !s.certain && s.away <= moment && alike(g, s.kept):
		return Doubtful
	}
	return e
}

// resting looks whether it is still the part that was dealt with. A part that was put in
// so quickly that nobody saw the jig empty would be lost.
func (s *Succession) resting(g, before Glimpse) Event {
	near := g.Ohm <= (1+otherwise)*s.kept.Ohm && g.Ohm >= (1-otherwise)*s.kept.Ohm
	if !s.any || near || !Agree(g, before) {
		s.strange = 0
		return Resting
	}
	if s.strange++; s.strange == insist {
		return Strange
	}
	return Resting
}

// Keep says that the part in the jig has been dealt with: it must be taken out before
// another counts.
func (s *Succession) Keep() {
	s.kept, s.any, s.certain = s.Presence.last, true, false
	s.away, s.strange = 0, 0
	s.in, s.settled, s.opens = true, true, 0
}

// Exchange says that another part has been put in for certain.
func (s *Succession) Exchange() {
	s.Presence, s.certain, s.away, s.strange = Presence{}, true, 0, 0
}

// Last is the glimpse before the next.
func (s *Succession) Last() Glimpse { return s.Presence.last }

// alike reports whether two glimpses differ by no more than noise makes of them, four
// standard uncertainties of the difference: those of one part do, those of two seldom.
func alike(a, b Glimpse) bool {
	return Agree(a, b) && math.Abs(a.Ohm-b.Ohm) <= 4*math.Hypot(a.U, b.U)
}
