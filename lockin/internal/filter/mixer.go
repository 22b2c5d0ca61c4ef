package filter

import "example.org/wheatear/lockin/internal/phase"

// Oscillator gives exp(−jφ) of a tone frame by frame, from one exact phase for every
// 64 frames.
type Oscillator struct {
	step  phase.Turns
	ahead [64]complex128 // exp(−j·i·step)
	row   int64          // what base is for
	base  complex128
}

// NewOscillator returns one that starts at phase 0 in frame 0.
func NewOscillator(step phase.Turns) *Oscillator {
	o := &Oscillator{step: step, row: -1}
	phase.FillPhasors(o.ahead[:], phase.Turns{}, step.Neg())
	return o
}

// Fill writes the values from a frame of the stream on.
func (o *Oscillator) Fill(m Mixer, frame int64) {
	const size = int64(len(o.ahead))
	for at := 0; at < len(m.Re); {
		row, r := frame/size, int(frame%size)
		if row != o.row {
			o.row, o.base = row, o.step.Times(uint64(row)*uint64(size)).Neg().Phasor()
		}
		n := min(len(o.ahead)-r, len(m.Re)-at)
		p, q := real(o.base), imag(o.base)
		for j, v := range o.ahead[r : r+n] {
			m.Re[at+j] = p*real(v) - q*imag(v)
			m.Im[at+j] = p*imag(v) + q*real(v)
		}
		at, frame = at+n, frame+int64(n)
	}
}
