package virtual

// decimator makes samples of a signal that is known at every step, as a converter
// does that lets nothing above 0.62 of the rate through, and all below 0.42: with the
// window of the kernel that plays, which delays by half samples.
type decimator struct {
	taps [decimatorTaps]float64
	past [2][2 * decimatorTaps]float64 // each value twice, so that a window is one piece
	at   int
}

// decimatorTaps reach half samples to both sides.
const decimatorTaps = 2*half*substeps + 1

// wider is the middle of the filter's edge over half the rate: 20 kHz at 48 kHz pass.
const wider = 1.04

func newDecimator() *decimator {
	d := &decimator{}
	for i := range d.taps {
		at := float64(i-half*substeps) / substeps
		d.taps[i] = wider * sinc(wider*at) * shaped(at) / substeps
	}
	return d
}

func (d *decimator) push(y frame) {
	n := len(d.taps)
	for ch, v := range y {
		d.past[ch][d.at], d.past[ch][d.at+n] = v, v
	}
	if d.at++; d.at == n {
		d.at = 0
	}
}

// sum is the sample half sample intervals before the last value.
func (d *decimator) sum() (y frame) {
	for ch := range y {
		past := (*[decimatorTaps]float64)(d.past[ch][d.at : d.at+decimatorTaps])
		var s0, s1, s2, s3 float64 // several, so that one addition need not wait for another
		for i := 0; i < decimatorTaps-1; i += 4 {
			s0 += d.taps[i] * past[i]
			s1 += d.taps[i+1] * past[i+1]
			s2 += d.taps[i+2] * past[i+2]
			s3 += d.taps[i+3] * past[i+3]
		}
		y[ch] = s0 + s1 + s2 + s3 + d.taps[decimatorTaps-1]*past[decimatorTaps-1]
	}
	return y
}
