package virtual

import "math"

// resampler is the converter that records: it reads channel ch at the times
// k·step - delay[ch] of the frames that it is given, k = 0, 1, …, through the
// kernel of the player.
type resampler struct {
	kernel *kernel
	step   float64
	delay  [2]float64
	fixed  [2]*[window]float64 // where the place within a frame never changes
	past   [2][]float64
	first  int64 // number of past[…][0], counted from the first frame given
	next   int64 // k
}

// newResampler starts with silence, so that it can give frames at once: all it
// gives is late by resamplerFrames.
func newResampler(step float64, delay [2]float64, k *kernel) *resampler {
	r := &resampler{kernel: k, step: step, delay: delay, first: -lead}
	for ch := range r.past {
		r.past[ch] = make([]float64, lead)
		if step == 1 {
			_, tau := split(-delay[ch])
			r.fixed[ch] = k.weights(2*tau - 1)
		}
	}
	return r
}

// resamplerFrames is how late a frame is that has no other delay; lead is what has
// to be known before the first.
const (
	resamplerFrames = half + maxDelay
	lead            = 2*half + 2*maxDelay + 2
)

// split is the whole and the rest of t, the rest between 0 and 1.
func split(t float64) (whole int64, rest float64) {
	floor := math.Floor(t)
	return int64(floor), t - floor
}

func (r *resampler) process(dst, src []frame) []frame {
	for _, y := range src {
		r.past[0], r.past[1] = append(r.past[0], y[0]), append(r.past[1], y[1])
	}
	newest := r.first + int64(len(r.past[0])) - 1
	for {
		at := float64(r.next) * r.step
		if math.Floor(at) > float64(newest) {
			break
		}
		var y frame
		for ch := range y {
			y[ch] = r.read(ch, at-resamplerFrames-r.delay[ch])
		}
		r.next++
		dst = append(dst, y)
	}
	r.forget()
	return dst
}

// read is channel ch at the time t.
func (r *resampler) read(ch int, t float64) float64 {
	whole, tau := split(t)
	start := int(whole - half + 1 - r.first)
	w := (*[window]float64)(r.past[ch][start : start+window])
	if r.fixed[ch] != nil {
		sum := 0.0
		for i, v := range r.fixed[ch] {
			sum += v * w[i]
		}
		return sum
	}
	var c coeffs
	r.kernel.interval(&c, w)
	return c.at(2*tau - 1)
}

// forget drops what no later frame needs.
func (r *resampler) forget() {
	n := len(r.past[0]) - lead
	if n <= 0 {
		return
	}
	for ch := range r.past {
		copy(r.past[ch], r.past[ch][n:])
		r.past[ch] = r.past[ch][:lead]
	}
	r.first += int64(n)
}
