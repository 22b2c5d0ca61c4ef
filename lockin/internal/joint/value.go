package joint

import "math"

// TurnS is how long, in seconds, a turned tone takes down to zero and again up from it.
const TurnS = 0.02

// TurnOrders is the highest mains multiple on which tones are turned. Higher ones are weak,
// and a fit bounds them by their neighbours.
const TurnOrders = 16

// Sign is what a tone is multiplied with whose sign turns at t = 0: 1, down to 0 by a
// raised cosine of TurnS, and on to −1 by its mirror.
func Sign(t float64) float64 {
	switch {
	case t <= -TurnS:
		return 1
	case t >= TurnS:
		return -1
	}
	return -math.Copysign(0.5-0.5*math.Cos(math.Pi*t/TurnS), t)
}

// AddTo adds the model of a channel to dst, whose first element is a frame counted from
// the beginning of the stretch; outside of the stretch the model goes on as it is inside.
func (f *Fit) AddTo(dst []float64, ch, first int) {
	f.AddLines(dst, ch, first, func(Line) bool { return true })
	f.addPoly(dst, ch, first)
}

func (f *Fit) addPoly(dst []float64, ch, first int) {
	p := &fitPass{m: f.Model, frames: f.Frames}
	c := f.power[ch]
	tau, step := p.tau(first)
	for k := range dst {
		t := tau + step*float64(k)
		dst[k] += c[0] + t*(c[1]+t*c[2])
	}
}

// AddLines adds those lines that are wanted.
func (f *Fit) AddLines(dst []float64, ch, first int, want func(Line) bool) {
	wanted := make([]bool, len(f.Model.Lines))
	for l, ln := range f.Model.Lines {
		wanted[l] = want(ln)
	}
	f.addLines(dst, ch, first, wanted)
}

func (f *Fit) addLines(dst []float64, ch, first int, wanted []bool) {
	p := &fitPass{m: f.Model, frames: f.Frames}
	length := f.Model.blockFrames()
	for l, ln := range f.Model.Lines {
		if !wanted[l] {
			continue
		}
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
				sign := 1.0
				if ln.Turned {
					sign = Sign(p.timeS(float64(frame + k)))
				}
				dst[at+k] += sign * real(v)
				v *= turn
			}
			at += n
		}
	}
}

// AddSteady adds those lines that are wanted as if their sign did not turn.
func (f *Fit) AddSteady(dst []float64, ch, first int, want func(Line) bool) {
	steady := *f.Model
	steady.Lines = append([]Line(nil), steady.Lines...)
	for l := range steady.Lines {
		steady.Lines[l].Turned = steady.Lines[l].Turned && !want(steady.Lines[l])
	}
	wanted := make([]bool, len(steady.Lines))
	for l, ln := range f.Model.Lines {
		wanted[l] = want(ln)
	}
	g := *f
	g.Model = &steady
	g.addLines(dst, ch, first, wanted)
}
