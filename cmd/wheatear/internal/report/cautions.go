package report

import "io"

// Cautions reminds a person, before a real card is used for the first time, of what
// must not go wrong. The topic wiring has all of it.
func Cautions(w io.Writer) {
	io.WriteString(w, cautions)
}

const cautions = `Before the first tone:

  - Capacitors are discharged, and have been kept shorted for a while.
  - A board is switched off and unplugged. Nothing here touches the mains.
  - The tone may be loud: headphones off, loudspeakers and amplifiers off.
  - The inputs take a volt or two; clamps and series resistors are in place.
  - The supply of microphone inputs (plug-in or phantom power) is off.
  - Local codes and licensed practice come before anything written here.

wheatear help wiring says more, and draws it.

`
