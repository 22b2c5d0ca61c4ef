package virtual

import (
	"math"
	"math/rand/v2"
)

// white adds normal noise of the given rms.
func white(rms [2]float64, r *rand.Rand) stage {
	return each(func(y *frame) {
		y[0] += rms[0] * r.NormFloat64()
		y[1] += rms[1] * r.NormFloat64()
	})
}

// pink adds noise whose power goes as 1/f: a sum of first order noises of equal
// power whose corners are an octave apart, from half the rate downwards. Between
// the lowest corner and a quarter of the rate its spectrum is within 0.5 dB of
// 1/f.
type pink struct {
	state [2][pinkOctaves]float64
	keep  [pinkOctaves]float64 // of the state, from one frame to the next
	fresh [pinkOctaves]float64 // of new noise
	rms   [2]float64
	r     *rand.Rand
}

const pinkOctaves = 16 // at 48 kHz from 0.7 Hz

func newPink(rms [2]float64, r *rand.Rand) *pink {
	p := &pink{rms: rms, r: r}
	for k := range p.keep {
		p.keep[k] = math.Exp(-math.Pi / math.Exp2(float64(k)))
		p.fresh[k] = math.Sqrt((1 - p.keep[k]*p.keep[k]) / pinkOctaves)
		for ch := range p.state { // as if it had always been running
			p.state[ch][k] = r.NormFloat64() / math.Sqrt(pinkOctaves)
		}
	}
	return p
}

func (p *pink) process(dst, src []frame) []frame {
	for _, y := range src {
		for ch := range y {
			sum := 0.0
			for k := range p.keep {
				p.state[ch][k] = p.keep[k]*p.state[ch][k] + p.fresh[k]*p.r.NormFloat64()
				sum += p.state[ch][k]
			}
			y[ch] += p.rms[ch] * sum
		}
		dst = append(dst, y)
	}
	return dst
}

// hum adds the mains and its multiples, equal on both inputs, from a phase that is
// drawn.
type hum struct {
	level []complex128 // with the phase of each
	step  float64      // turns per frame
	phase float64      // turns
}

func newHum(h Hum, rateHz float64, r *rand.Rand) *hum {
	out := &hum{step: h.Hz / rateHz, phase: r.Float64()}
	for _, l := range h.Levels {
		sin, cos := math.Sincos(2 * math.Pi * r.Float64())
		out.level = append(out.level, complex(l*cos, l*sin))
	}
	return out
}

func (h *hum) process(dst, src []frame) []frame {
	for _, y := range src {
		sin, cos := math.Sincos(2 * math.Pi * h.phase)
		turn := complex(cos, sin)
		sum, w := 0.0, complex(1, 0)
		for _, l := range h.level {
			w *= turn
			sum += real(l * w)
		}
		_, h.phase = math.Modf(h.phase + h.step)
		dst = append(dst, frame{y[0] + sum, y[1] + sum})
	}
	return dst
}
