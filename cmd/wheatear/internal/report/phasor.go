package report

import "example.org/wheatear/cmd/wheatear/internal/plot"

// Phasor is a reading as it is drawn.
func (m *Measurement) Phasor(r *Reading) *plot.Phasor {
	p := &plot.Phasor{Title: m.source() + " at " + nominal(r.NominalHz), Note: m.correction()}
	if !r.Trusted {
		return p
	}
	p.Reading = r.Corrected.Reading
	if list := equivalents(p.Reading); len(list) > 0 {
		p.Value = once(short(list[0].main, list[0].unit))
	}
	p.Parts = [2]string{"R " + once(short(p.Reading.Re, "Ω")), "X " + once(short(p.Reading.Im, "Ω"))}
	return p
}
