package batch

import "math"

// Event is what a reading says of the part in the jig.
type Event uint8

// The events.
const (
	Nothing  Event = iota // no part is in
	Entering              // one is in, and its reading still moves
	Settled               // it stands still: now it can be judged; told once for each part
	Resting               // it is still there
	Leaving               // it has been taken out
)

// Glimpse is a quick reading.
type Glimpse struct {
	Open bool    // more than the jig can tell
	Ohm  float64 // modulus of the impedance
	U    float64 // its standard uncertainty from noise
	Bad  bool    // spoilt: clipped, unsettled, a bad contact
}

// Presence follows glimpses. The zero value begins with an empty jig.
type Presence struct {
	last    Glimpse
	in      bool
	settled bool
}

// stands is how far two glimpses of a part at rest may differ, relative, beside what
// noise makes of them. Common practice, no source: clips creep by less.
const stands = 2e-3

// Step takes a glimpse.
func (p *Presence) Step(g Glimpse) Event {
	before := p.last
	p.last = g
	switch {
	case g.Open && p.in:
		p.in, p.settled = false, false
		return Leaving
	case g.Open:
		return Nothing
	case !p.in:
		p.in = true
		return Entering
	case p.settled:
		return Resting
	case g.Bad || before.Bad || before.Open:
		return Entering
	}
	if math.Abs(g.Ohm-before.Ohm) > 4*math.Hypot(g.U, before.U)+stands*math.Max(g.Ohm, before.Ohm) {
		return Entering
	}
	p.settled = true
	return Settled
}
