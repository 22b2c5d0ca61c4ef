package virtual

import (
	"fmt"
	"math"
)

// Part is what can be put into the jig. Everything in it lies side by side between
// the terminals; a part without anything is an open circuit.
type Part struct {
	Name    string
	Circuit string // R, L and C in the notation of circuits; empty for none
	Note    string

	Junctions     []Junction
	Ceramics      []Ceramic
	Cores         []Core
	ConstantPhase []ConstantPhase
}

// Junction is a silicon junction, or several alike in series, with a resistor:
// i = Is (exp(v/(n·25.85 mV)) - 1), W. Shockley's law at 300 K.
type Junction struct {
	SaturationA float64 // Is; 0 means 4 nA, a small-signal diode
	Emission    float64 // n; 0 means 1.85
	SeriesOhm   float64
	Farad       float64 // across the junction, constant
	Count       int     // in series; 0 means 1
	Reverse     bool    // forward towards the upper terminal
}

// Ceramic is a capacitor whose capacitance falls with voltage, as in class 2
// ceramics: C(v) = C0 / (1 + (v/V0)²)^1.5, so that its charge is
// C0 v / √(1 + (v/V0)²).
type Ceramic struct {
	Farad     float64 // C0
	Volt      float64 // V0
	SeriesOhm float64 // 0 means 10 mΩ
	Henry     float64 // in series
	LeakOhm   float64 // across it; 0 means none
}

// Core is an inductor that saturates: i = φ/L0 (1 + (φ/φs)⁴) for the flux φ.
type Core struct {
	Henry      float64 // L0
	FluxVs     float64 // φs: here the current is twice that of L0 alone
	WindingOhm float64 // in series
	LossOhm    float64 // across L0; 0 means 1 MΩ
	Farad      float64 // across all
}

// ConstantPhase is an element of impedance 1/(Q (jω)^n), made of resistors and
// capacitors. It is right to 1e-5 from 1 Hz to 1 MHz.
type ConstantPhase struct {
	Q         float64 // S·sⁿ
	Exponent  float64 // n, between 0 and 1, both excluded
	SeriesOhm float64
}

// check judges every value.
func (p *Part) check() error {
	if _, err := parseCircuit(p.Circuit); err != nil {
		return err
	}
	for _, d := range p.Junctions {
		if bad(d.SaturationA, d.Emission, d.SeriesOhm, d.Farad, float64(d.Count)) || d.Count > 1000 {
			return fmt.Errorf("a junction %+v; values are finite and not negative", d)
		}
	}
	for _, c := range p.Ceramics {
		if bad(c.Farad, c.Volt, c.SeriesOhm, c.Henry, c.LeakOhm) || c.Farad == 0 || c.Volt == 0 {
			return fmt.Errorf("a ceramic capacitor %+v; it needs farads and volts above 0", c)
		}
	}
	for _, c := range p.Cores {
		if bad(c.Henry, c.FluxVs, c.WindingOhm, c.LossOhm, c.Farad) || c.Henry == 0 || c.FluxVs == 0 {
			return fmt.Errorf("a core %+v; it needs henries and volt seconds above 0", c)
		}
	}
	for _, e := range p.ConstantPhase {
		if bad(e.Q, e.Exponent, e.SeriesOhm) || e.Q == 0 || e.Exponent < 0.01 || e.Exponent > 0.99 {
			return fmt.Errorf("a constant phase %+v; Q is above 0 and the exponent between 0.01 and 0.99", e)
		}
	}
	if ports := len(p.Junctions) + len(p.Ceramics) + len(p.Cores); ports > maxPorts {
		return fmt.Errorf("%d elements that are not linear; %d are the most", ports, maxPorts)
	}
	return nil
}

// maxPorts limits the equations to be solved at every step.
const maxPorts = 6

// bad says whether a value is negative, infinite or not a number.
func bad(values ...float64) bool {
	for _, v := range values {
		if !(v >= 0) || math.IsInf(v, 0) {
			return true
		}
	}
	return false
}

// place puts the part between the terminals a and c.
func (p *Part) place(b *built, a, c node) {
	linear, _ := parseCircuit(p.Circuit) // judged by check
	b.net.circuit(linear, a, c)
	for _, e := range p.ConstantPhase {
		e.place(b.net, a, c)
	}
	for _, d := range p.Junctions {
		d.place(b, a, c)
	}
	for _, e := range p.Ceramics {
		e.place(b, a, c)
	}
	for _, e := range p.Cores {
		e.place(b, a, c)
	}
}

// behind adds ohms in series from a and returns the node behind them.
func (n *network) behind(a node, ohms float64) node {
	if ohms == 0 {
		return a
	}
	next := n.node()
	n.resistor(a, next, ohms)
	return next
}
