package virtual

import "math"

// autoGain multiplies both inputs by a gain that brings their peak slowly to a
// level: down within some 5 ms, up within half a second.
type autoGain struct {
	level, envelope float64
	attack, release float64 // kept of the envelope per frame
}

// mostGain is what an automatic gain does to silence.
const mostGain = 30

func newAutoGain(level, rateHz float64) *autoGain {
	return &autoGain{level: level, envelope: level, attack: math.Exp(-1 / (0.005 * rateHz)), release: math.Exp(-1 / (0.5 * rateHz))}
}

func (a *autoGain) process(dst, src []frame) []frame {
	for _, y := range src {
		peak, keep := max(math.Abs(y[0]), math.Abs(y[1])), a.release
		if peak > a.envelope {
			keep = a.attack
		}
		a.envelope = keep*a.envelope + (1-keep)*peak
		gain := min(a.level/max(a.envelope, 1e-12), mostGain)
		dst = append(dst, frame{gain * y[0], gain * y[1]})
	}
	return dst
}

// system is an operating system that converts the rate and back, with straight
// lines between the samples, and so leaves images beside a tone and takes from it.
type system struct {
	there, back lines
	middle      []frame
}

func newSystem(rateHz, otherHz float64) *system {
	return &system{there: lines{step: rateHz / otherHz}, back: lines{step: otherHz / rateHz}}
}

func (s *system) process(dst, src []frame) []frame {
	for _, y := range src {
		s.middle = s.there.push(s.middle[:0], y)
		for _, m := range s.middle {
			dst = s.back.push(dst, m)
		}
	}
	return dst
}

// lines gives the values at multiples of step, straight lines between the samples.
type lines struct {
	step float64
	last frame
	seen int64 // samples
	next int64 // multiple of step
}

func (l *lines) push(dst []frame, y frame) []frame {
	for {
		// The newest sample is at seen, the one before at seen-1; the first, at 0, comes
		// after silence.
		tau := float64(l.next)*l.step - float64(l.seen-1)
		if tau > 1 {
			break
		}
		dst = append(dst, frame{l.last[0] + tau*(y[0]-l.last[0]), l.last[1] + tau*(y[1]-l.last[1])})
		l.next++
	}
	l.last = y
	l.seen++
	return dst
}

// dropper loses frames.
type dropper struct {
	drops []Drop  // still to come
	at    int64   // frames given
	left  int     // of the drop under way
	past  []frame // what a repeat needs
}

func (d *dropper) process(dst, src []frame) []frame {
	for _, y := range src {
		if len(d.drops) > 0 && d.at == d.drops[0].Frame && d.left == 0 {
			d.left = d.drops[0].Frames
		}
		if d.left > 0 {
			dst = d.lose(dst)
			continue
		}
		dst = append(dst, y)
		d.remember(y)
		d.at++
	}
	return dst
}

// lose does with one frame what the drop says.
func (d *dropper) lose(dst []frame) []frame {
	drop := d.drops[0]
	d.left--
	y := frame{}
	if n := len(d.past); n > 0 {
		y = d.past[(drop.Frames-1-d.left)%n]
	}
	if d.left == 0 {
		d.drops, d.past = d.drops[1:], d.past[:0]
	}
	if drop.Fill == Cut {
		return dst
	}
	d.at++
	return append(dst, y)
}

// remember keeps as much as the next drop may repeat.
func (d *dropper) remember(y frame) {
	if len(d.drops) == 0 || d.drops[0].Fill != Repeat || d.at < d.drops[0].Frame-int64(d.drops[0].Frames) {
		return
	}
	d.past = append(d.past, y)
}
