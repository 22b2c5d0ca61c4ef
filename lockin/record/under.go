package record

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/num"
)

// Where other multiples tell the mains frequency, a line so near to a tone that no fit of
// both stands still turns against it, by a part of a turn over the record. With amplitudes
// small against those of the tone, the ratio of the channels moves as
//
//	r·(1 + λ·g(t)),  g(t) = exp(j·phase of the line less that of the tone)
//
// and the tones' common clock cancels. λ is found from the residual by least squares,
// together with what LineU says of its size before (a normal prior, and so a ridge);
// its mean over the record is taken off the ratio.

const (
	underBlockS = 0.01 // in which a line hardly turns against the tone
	underMost   = 0.03 // of the tone: lines above this are not small against it
	driftMost   = 0.01 // hertz per second: the mains drifts by less, standard uncertainty
)

// underneath follows a line under a tone.
type underneath struct {
	frames int
	rateHz float64
	at     []float64    // seconds from the middle of the stretch, of each block
	n      []float64    // frames in it
	moved  []complex128 // what the residual adds to the ratio, relative, times frames/2
}

// newUnderneath demodulates the residual of both channels at a tone.
func (an *analyzer) newUnderneath(t *ToneFit) underneath {
	f := an.joint
	u := underneath{frames: f.Frames, rateHz: an.sig.RateHz}
	block := max(8, int(underBlockS*u.rateHz))
	sums := blockSums(f.Residual, u.rateHz, t.FreqHz, block)
	for k := range sums[0] {
		from, end := k*block, min((k+1)*block, f.Frames)
		u.n = append(u.n, float64(end-from))
		u.at = append(u.at, (float64(from+end-1)-float64(f.Frames-1))/2/u.rateHz)
		u.moved = append(u.moved, sums[1][k]/t.Phasors[1]-sums[0][k]/t.Phasors[0])
	}
	return u
}

// fit finds λ for a line so many hertz above the tone that drifts by so many hertz per
// second. noise and before are E|·|² of the ratio of the whole record and of λ. It returns
// the mean of g, and E|·|² that is left of λ.
func (u underneath) fit(hz, drift, noise, before float64) (lambda, mean complex128, left float64) {
	g := make([]complex128, len(u.at))
	for k, t := range u.at {
		g[k] = cmplx.Rect(1, 2*math.Pi*(hz*t+drift*t*t/2))
		mean += g[k] * complex(u.n[k]/float64(u.frames), 0)
	}
	var sum complex128
	turned := 0.0
	for k, v := range g {
		sum += 2 * u.moved[k] * cmplx.Conj(v-mean)
		turned += u.n[k] * num.SqAbs(v-mean)
	}
	s := noise * float64(u.frames)
	weight := turned + s/before
	return sum / complex(weight, 0), mean, s / weight
}

// takeUnder takes a line of the mains off the ratio of a tone, and lowers LineU to what
// that leaves open. It does nothing, and says so, where the mains frequency is not known,
// or nothing is gained.
func (an *analyzer) takeUnder(t *ToneFit, order int) bool {
	if !an.hum.present || len(t.Phasors) != 2 || t.Phasors[0] == 0 || t.Phasors[1] == 0 {
		return false
	}
	share := [2]float64{t.LineU[0] / cmplx.Abs(t.Phasors[0]), t.LineU[1] / cmplx.Abs(t.Phasors[1])}
	largest := math.Sqrt2 * math.Max(share[0], share[1])
	noise, before := 2*num.Sq(t.ratioU()), 2*(num.Sq(share[0])+num.Sq(share[1]))
	if largest > underMost || before <= noise {
		return false
	}
	u, k, m := an.newUnderneath(t), float64(order), an.joint.Model
	hz, drift := k*m.MainsHz-t.FreqHz, k*m.DriftHzPerS()
	lambda, _, left := u.fit(hz, drift, noise, before)
	swing := num.Sq(an.swing()) * (num.SqAbs(lambda) + left) // moves the ratio like λ itself
	lambda, mean, left := u.fit(hz, drift, noise+swing, before)
	off := lambda * mean
	after := left * num.SqAbs(mean)
	for _, d := range [][2]float64{{k * an.out.Mains.FreqUHz, 0}, {0, k * an.driftU()}} {
		other, turned, _ := u.fit(hz+d[0], drift+d[1], noise+swing, before)
		after += num.SqAbs(other*turned - off)
	}
	after += num.Sq(cmplx.Abs(lambda) * largest) // of second order
	if after >= before {
		return false
	}
	weak := 0
	if cmplx.Abs(t.Phasors[1]) < cmplx.Abs(t.Phasors[0]) {
		weak = 1
	}
	if weak == 0 {
		off = -off
	}
	t.Phasors[weak] /= 1 + off
	for ch, p := range t.Phasors {
		t.LineU[ch] = cmplx.Abs(p) * math.Sqrt(after) / 2
	}
	return true
}

// driftU is the standard uncertainty of the drift of the mains, hertz per second: a phase
// of πkct² has T⁴/180 about its best constant, where a frequency has T²/12.
func (an *analyzer) driftU() float64 {
	return math.Min(driftMost, an.out.Mains.FreqUHz*math.Sqrt(60)/an.seconds())
}
