package virtual

import "math"

// inserted is what lies between the terminals: a part, and what this insertion
// adds to it.
type inserted struct {
	part         *Part
	hookup       Hookup
	contactOhm   float64
	fixtureFarad float64 // besides that of the jig
}

// built is a jig with a part, ready to be solved.
type built struct {
	net      *network
	elements []element // one for each port
}

// build turns a jig and what is in it into a network.
func (j *Jig) build(in inserted) *built {
	b := &built{net: newNetwork()}
	n := b.net
	source, top, bottom := n.node(), n.node(), n.node()
	n.drive(source, j.SourceOhm)
	if j.SourceFarad > 0 {
		n.capacitor(source, top, j.SourceFarad)
	} else {
		n.wire(source, top)
	}
	kind, _ := j.wiring() // judged by withDefaults
	signals := map[string]probe{}
	switch kind {
	case partToGround:
		j.reference(n, top, bottom)
		j.part(b, bottom, 0, in)
		signals["total"], signals["part"] = across(top, 0), across(bottom, 0)
	case referenceToGround:
		j.part(b, top, bottom, in)
		j.reference(n, bottom, 0)
		signals["total"], signals["reference"] = across(top, 0), across(bottom, 0)
	case differential:
		sense := j.part(b, top, bottom, in)
		j.reference(n, bottom, 0)
		signals["part"], signals["reference"] = across(sense, bottom), across(bottom, 0)
	case virtualGround:
		out := n.node()
		j.part(b, top, bottom, in)
		j.reference(n, bottom, out)
		j.amplifier(n, bottom, out)
		signals["part"], signals["reference"] = across(top, 0), across(0, out)
	}
	taps, inverted := j.taps(in.hookup, signals, top)
	for i := range taps {
		j.input(n, i, taps[i], inverted[i])
	}
	return b
}

// reference adds the reference resistor with its strays.
func (j *Jig) reference(n *network, a, b node) {
	n.capacitor(a, b, j.ReferenceFarad)
	if j.ReferenceHenry > 0 {
		middle := n.node()
		n.inductor(a, middle, j.ReferenceHenry)
		a = middle
	}
	n.resistor(a, b, j.ReferenceOhm)
}

// part adds leads, contact, fixture and the part, and returns its upper terminal.
func (j *Jig) part(b *built, from, to node, in inserted) node {
	n := b.net
	terminal := from
	if ohms := j.LeadOhm + in.contactOhm; ohms > 0 {
		terminal = n.node()
		n.resistor(from, terminal, ohms)
	}
	if j.LeadHenry > 0 {
		next := n.node()
		n.inductor(terminal, next, j.LeadHenry)
		terminal = next
	}
	n.capacitor(terminal, to, j.FixtureFarad+in.fixtureFarad)
	n.capacitor(terminal, 0, j.GroundFarad)
	if in.part != nil {
		in.part.place(b, terminal, to)
	}
	return terminal
}

// amplifier adds an inverting amplifier: one pole, then its output resistance.
func (j *Jig) amplifier(n *network, minus, out node) {
	a := j.Amplifier
	n.capacitor(minus, 0, a.InputFarad)
	if a.GainBandwidthHz == 0 { // whatever current keeps minus at 0 V
		i := n.branch()
		n.stamp(volts(out), i, 1)
		n.stamp(i, volts(minus), 1)
		return
	}
	const siemens = 1e-3 // of the stage inside; it cancels
	pole := n.node()
	n.transfer(pole, 0, minus, 0, siemens)
	n.conductance(pole, 0, siemens/a.OpenLoopGain)
	n.capacitor(pole, 0, siemens/(2*math.Pi*a.GainBandwidthHz))
	if a.OutputOhm == 0 {
		i := n.branch()
		n.stamp(volts(out), i, 1)
		n.stamp(i, volts(out), 1)
		n.stamp(i, volts(pole), -1)
		return
	}
	n.conductance(out, 0, 1/a.OutputOhm)
	n.transfer(0, out, pole, 0, 1/a.OutputOhm)
}

// input loads the nodes of a signal and makes it an output, in full scale for a
// full scale of the drive. Its high-pass is the signal less what a low-pass of
// the same corner makes of it.
func (j *Jig) input(n *network, i int, signal probe, invert bool) {
	in := j.Inputs[i]
	if signal == nil { // off the jig
		n.probes = append(n.probes, nil)
		return
	}
	n.load(signal, in)
	scale := j.DriveVolts / j.FullScaleVolts[i]
	if invert {
		scale = -scale
	}
	var seen probe
	for k, s := range signal {
		value := s.value
		if signal[1-k].row != volts(0) && s.row != volts(0) { // differential
			value += in.CommonMode / 2
		}
		seen = append(seen, source{s.row, value * scale})
	}
	if in.CornerHz > 0 {
		low := n.node()
		n.conductance(low, 0, 1)
		n.capacitor(low, 0, 1/(2*math.Pi*in.CornerHz))
		for _, s := range seen {
			n.stamp(volts(low), s.row, -s.value)
		}
		seen = append(seen, source{volts(low), -1})
	}
	n.probes = append(n.probes, seen)
}

// load adds an input's resistor and capacitor to every node of a signal.
func (n *network) load(signal probe, in Input) {
	for _, s := range signal {
		if s.row == volts(0) {
			continue
		}
		a := node(s.row.index)
		if in.Ohm > 0 {
			n.conductance(a, 0, 1/in.Ohm)
		}
		n.capacitor(a, 0, in.Farad)
	}
}
