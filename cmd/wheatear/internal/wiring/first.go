package wiring

import (
	"io"
	"strings"
)

// First reminds a person, before a real card is used for the first time, of what must not
// go wrong. The topic wiring has all of it.
var First = Reminder{"Before the first tone:", []string{
	"Capacitors are discharged, and have been kept shorted for a while.",
	"A board is switched off and unplugged. Nothing here touches the mains.",
	"The tone may be loud: headphones off, loudspeakers and amplifiers off.",
	"The inputs take a volt or two; clamps and series resistors are in place.",
	"The supply of microphone inputs (plug-in or phantom power) is off.",
	"Local codes and licensed practice come before anything written here.",
}}

// Reminder is a few sentences below a head.
type Reminder struct {
	Head string
	List []string
}

// Write writes it for a terminal.
func (r Reminder) Write(w io.Writer) error {
	_, err := io.WriteString(w, r.Head+"\n\n  - "+strings.Join(r.List, "\n  - ")+"\n\nwheatear help wiring says more, and draws it.\n\n")
	return err
}
