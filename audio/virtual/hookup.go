package virtual

import (
	"fmt"
	"math"
	"strings"
)

// Hookup is what is connected otherwise than the wiring of the jig has it, as one does
// to find out what inputs and reference do by themselves. The zero value is the jig
// as it is.
type Hookup struct {
	Joined       bool    // both inputs on the node that the source drives, neither inverted
	Terminated   int     // this input, 1 or 2, is off the jig and its plug closed; 0 for none
	ReferenceOhm float64 // of another resistor in the reference's place; 0 for none
}

// check refuses what cannot be connected.
func (h Hookup) check() error {
	if h.Terminated < 0 || h.Terminated > 2 || !(h.ReferenceOhm >= 0) || math.IsInf(h.ReferenceOhm, 0) {
		return fmt.Errorf("virtual: hookup %+v; inputs are 1 and 2, a reference is finite and above 0", h)
	}
	if h.Joined && h.Terminated != 0 {
		return fmt.Errorf("virtual: both inputs on one node, and input %d off the jig: one of them is possible", h.Terminated)
	}
	return nil
}

// Hook changes how the card is connected to the jig, until it is changed again.
func (c *Card) Hook(h Hookup) error {
	if err := h.check(); err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.hookup = h
	return nil
}

// hooked is the jig with another reference where there is one.
func (j Jig) hooked(h Hookup) *Jig {
	if h.ReferenceOhm > 0 {
		j.ReferenceOhm = h.ReferenceOhm
	}
	return &j
}

// taps says what each input is connected to, and which is inverted. An input that is
// off the jig hears nothing and loads nothing.
func (j *Jig) taps(h Hookup, signals map[string]probe, driven node) (taps [2]probe, inverted [2]bool) {
	for i, name := range j.Channels {
		switch {
		case h.Terminated == i+1:
		case h.Joined:
			taps[i] = across(driven, 0)
		default:
			taps[i], inverted[i] = signals[strings.TrimPrefix(name, "-")], strings.HasPrefix(name, "-")
		}
	}
	return taps, inverted
}

// drawer is a resistor by its value, as from the drawer of known ones, nil where the
// name is of nothing such.
func drawer(name string) *Part {
	text, ok := strings.CutPrefix(name, "resistor ")
	if !ok {
		return nil
	}
	ohm, err := parseValue(text, 'R')
	if err != nil || !(ohm > 0) {
		return nil
	}
	return &Part{Name: name, Circuit: fmt.Sprintf("R %g", ohm), Note: "of exactly this value"}
}
