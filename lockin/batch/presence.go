package batch

import (
	"math"

	"example.org/wheatear/lockin/parts"
)

// Event is what a glimpse says of the part in the jig.
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
	Open bool    // more than the jig can tell: no part is in, or it has no contact
	Ohm  float64 // modulus of the impedance; 0 of a short
	U    float64 // its standard uncertainty from noise
	Bad  bool    // spoilt, or moving while it lasted: Ohm says nothing
}

// stands is how far two glimpses of a part at rest may differ, relative, beside what
// noise makes of them. Common practice, no source: clips creep by less.
const stands = 2e-3

// Agree reports whether two glimpses may be of the same part at rest: within four
// standard uncertainties of their difference, so that one pair in 16,000 is torn apart,
// and two thousandths.
func Agree(a, b Glimpse) bool {
	if a.Bad || b.Bad || a.Open != b.Open {
		return false
	}
	return math.Abs(a.Ohm-b.Ohm) <= 4*math.Hypot(a.U, b.U)+stands*math.Max(a.Ohm, b.Ohm)
}

// lasting glimpses in a row without a part mean that it was taken out: one alone may be
// a contact that failed for a moment, and the part would be counted again.
const lasting = 2

// Presence follows glimpses. The zero value begins with an empty jig.
type Presence struct {
	last    Glimpse
	in      bool
	settled bool
	opens   int // in a row
}

// Occupied begins with a part in the jig that has been dealt with: it must be taken out
// before another counts.
func Occupied() Presence { return Presence{in: true, settled: true} }

// Step takes a glimpse.
func (p *Presence) Step(g Glimpse) Event {
	before := p.last
	p.last = g
	if g.Open {
		return p.open()
	}
	p.opens = 0
	switch {
	case p.settled:
		return Resting
	case g.Bad && !p.in:
		return Nothing
	case !p.in:
		p.in = true
		return Entering
	case !Agree(g, before):
		return Entering
	}
	p.settled = true
	return Settled
}

// open is a glimpse without a part.
func (p *Presence) open() Event {
	p.opens++
	switch {
	case p.settled && p.opens < lasting:
		return Resting
	case p.settled:
		p.in, p.settled = false, false
		return Leaving
	}
	p.in = false
	return Nothing
}

// Unsettle takes back that a part has settled: it moved after all, and must settle again.
func (p *Presence) Unsettle() { p.settled = false }

// NoneOhm is far more than a part within limits has at a frequency, by a factor of 100
// (common practice, no source): what reads so much is no part, and an open that is a
// little off what it was when it was calibrated is none either.
//
// Infinite for an inductor or resistor without an upper limit, a capacitor without a
// lower one.
func NoneOhm(l parts.Limits, unit parts.Unit, freqHz float64) float64 {
	const far = 100
	w := 2 * math.Pi * freqHz
	switch unit {
	case parts.Farad:
		if !(l.Low > 0) {
			return math.Inf(1)
		}
		return far / (w * l.Low)
	case parts.Henry:
		return far * w * l.High
	}
	return far * l.High
}
