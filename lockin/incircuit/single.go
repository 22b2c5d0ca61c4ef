package incircuit

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/impedance"
)

// dominance finds the frequency where the part carries most of the current.
func (a *Answer) dominance(s *Sweep, m *Model) {
	least := math.Inf(1)
	for _, hz := range s.FreqHz {
		if off := cmplx.Abs(m.Network(hz)/m.Part(hz) - 1); off < least {
			least, a.BestHz = off, hz
			a.Share = 1 / (1 + off)
		}
	}
}

// mislead lists what single readings would show.
func (a *Answer) mislead(s *Sweep, kind impedance.Kind) {
	for i, hz := range s.FreqHz {
		w, z := 2*math.Pi*hz, s.Ohm[i]
		v := math.NaN()
		switch {
		case kind == impedance.Capacitor && imag(z) < 0:
			v = -1 / (w * imag(z))
		case kind == impedance.Inductor && imag(z) > 0:
			v = imag(z) / w
		case kind == impedance.Resistor:
			v = real(z)
		}
		a.Misleading = append(a.Misleading, Apparent{hz, v, v/a.Value.Value - 1})
	}
}
