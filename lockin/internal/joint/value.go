package joint

import "math"

// AddTo adds the model of a channel to dst, whose first element is a frame counted from
// the beginning of the stretch; outside of the stretch the model goes on as it is inside.
func (f *Fit) AddTo(dst []float64, ch, first int) {
	p := &fitPass{m: f.Model, frames: f.Frames}
	c := f.power[ch]
	tau, step := p.tau(first)
	for k := range dst {
		t := tau + step*float64(k)
		dst[k] += c[0] + t*(c[1]+t*c[2])
	}
	length := blockFrames(f.Model.RateHz)
	for l, ln := range f.Model.Lines {
		s, co := math.Sincos(2 * math.Pi * f.Model.FreqHz(ln) / f.Model.RateHz)
		turn := complex(co, s)
		// Blocks stand where those of the fit do: a drifting line turns evenly within one.
		for at := 0; at < len(dst); {
			frame := first + at
			block := int(math.Floor(float64(frame)/float64(length))) * length
			n := min(block+length-frame, len(dst)-at)
			middle := float64(block) + float64(length-1)/2
			if block >= 0 && block+length > f.Frames && block < f.Frames {
				middle = float64(block+f.Frames-1) / 2
			}
			s, co := math.Sincos(2 * math.Pi * f.Model.FreqHz(ln) / f.Model.RateHz * (float64(frame) - middle))
			v := f.Amp[ch][l] * p.phase(l, p.timeS(middle)) * complex(co, s)
			for k := range dst[at : at+n] {
				dst[at+k] += real(v)
				v *= turn
			}
			at += n
		}
	}
}
