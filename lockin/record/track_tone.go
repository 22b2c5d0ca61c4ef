package record

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/fold"
	"example.org/wheatear/lockin/internal/phase"
	"gonum.org/v1/gonum/mat"
)

// trackedTone follows one tone in every channel.
type trackedTone struct {
	rotator []*fold.Rotator[float64]
	step    phase.Turns
	segment int // frames
	series  *phasorSeries
	z       []complex128
	phase   stepMeter
	level   stepMeter
	seen    int64 // segments, used or not
	early   []earlySegment
}

func newTrackedTone(step phase.Turns, channels, segment int) *trackedTone {
	t := &trackedTone{
		step: step, segment: segment, series: newPhasorSeries(channels), z: make([]complex128, channels),
		phase: stepMeter{wrap: true},
	}
	t.early = make([]earlySegment, 0, earlySegments*channels)
	for range channels {
		t.rotator = append(t.rotator, fold.NewRotator[float64](step))
	}
	return t
}

// meanPhasor returns the mean of exp(j2π·i·step) over i = 0 … n−1, a geometric
// series: with r = n·step, both to the nearest turn,
//
//	e^(jπr)·sin(πr) / (n·e^(jπ·step)·sin(π·step))
func meanPhasor(step phase.Turns, n int) complex128 {
	s := math.Pi * step.Of()
	if s == 0 {
		return 1
	}
	r := math.Pi * step.Times(uint64(n)).Of()
	return cmplx.Rect(math.Sin(r)/(float64(n)*math.Sin(s)), r-s)
}

// earlySegments are fitted again when the frequency is known: by then it is, to
// what eight segments can tell.
const earlySegments = trackMin

// earlySegment is what the fit of a channel starts from.
type earlySegment struct {
	mean float64
	m    complex128
}

// close fits the segment that ended and starts the next.
func (t *trackedTone) close(channel []channelStats, finite bool) {
	n := float64(t.segment)
	g, start := t.mirror(), t.start(t.seen)
	for ch, r := range t.rotator {
		raw := earlySegment{channel[ch].sum / n, r.Sum() * start * complex(2/n, 0)}
		if t.seen < earlySegments {
			t.early = append(t.early, raw)
		}
		t.z[ch] = g.fit(raw.mean, raw.m) * cmplx.Conj(start)
		r.ClearSums()
	}
	t.series.add(t.z, finite)
	t.meter(finite)
	if t.seen++; t.seen == earlySegments {
		t.refit()
	}
}

// start returns e^(jθn) at the first frame of a segment.
func (t *trackedTone) start(segment int64) complex128 {
	return t.step.Times(uint64(segment) * uint64(t.segment)).Phasor()
}

// refit replaces the entries of the early segments, which stand singly as yet.
func (t *trackedTone) refit() {
	g := t.mirror()
	for i, raw := range t.early {
		segment := i / len(t.rotator)
		if t.series.weight[segment] != 0 {
			t.series.z[i] = g.fit(raw.mean, raw.m) * cmplx.Conj(t.start(int64(segment)))
		}
	}
}

func (t *trackedTone) meter(finite bool) {
	if !finite {
		t.phase.gap()
		t.level.gap()
		return
	}
	z := t.z[strongest(t.z)]
	t.phase.add(cmplx.Phase(z), t.seen)
	t.level.add(math.Log(math.Max(cmplx.Abs(z), math.SmallestNonzeroFloat64)), t.seen)
}

// mirror returns the means for the frequency seen so far.
func (t *trackedTone) mirror() mirror {
	off := phase.Turns{}
	if t.series.clear() {
		off = phase.Near(t.series.advance() / (2 * math.Pi) / float64(t.segment))
	}
	return newMirror(t.step, off, t.segment)
}

// mirror holds the means over a segment, from its first frame, that tell a tone at
// frequency θ+δ from the offset and from its own mirror image, all seen at θ.
type mirror struct {
	tone   complex128 // e^(+jδi)
	image  complex128 // e^(−j(2θ+δ)i)
	offset complex128 // e^(−jθi)
	level  complex128 // e^(+j(θ+δ)i)
}

func newMirror(step, off phase.Turns, n int) mirror {
	return mirror{
		tone: meanPhasor(off, n), image: meanPhasor(step.Times(2).Add(off).Neg(), n),
		offset: meanPhasor(step.Neg(), n), level: meanPhasor(step.Add(off), n),
	}
}

// fit returns the share u of the correlation that is the tone's own: mean(x) and
// m = 2·mean(x·e^(−jθi)) of a signal c + Re(z·e^(j(θ+δ)i)) are
//
//	mean(x) = c + Re(z·level),  m = 2c·offset + z·tone + conj(z)·image
//
// and u = z·tone is wanted: least squares for the offset and one tone, nearly.
func (g mirror) fit(mean float64, m complex128) complex128 {
	p := 1 - g.level*g.offset/g.tone
	q := (g.image - cmplx.Conj(g.level)*g.offset) / cmplx.Conj(g.tone)
	r := m - complex(2*mean, 0)*g.offset
	den := real(p)*real(p) + imag(p)*imag(p) - real(q)*real(q) - imag(q)*imag(q)
	return (cmplx.Conj(p)*r - q*cmplx.Conj(r)) / complex(den, 0)
}

func strongest(z []complex128) int {
	best := 0
	for i, v := range z {
		if cmplx.Abs(v) > cmplx.Abs(z[best]) {
			best = i
		}
	}
	return best
}

// result fits one frequency to the whole series, from the turn omega per segment.
func (t *trackedTone) result(nominalHz, rateHz, omega float64) (TrackedTone, error) {
	b, slopeU := batches{}, math.Inf(1)
	visible := t.series.clear()
	for range 4 { // each pass leaves the square of what the last one left
		b = t.series.batches(omega)
		if len(b.weight) < 2 {
			return TrackedTone{}, fmt.Errorf("%w: %g Hz: the finite segments are too close together", ErrTrack, nominalHz)
		}
		if visible {
			var slope float64
			slope, slopeU = b.slope()
			omega += slope
		}
	}
	b = t.series.batches(omega)
	perSegment := rateHz / (2 * math.Pi * float64(t.segment)) // Hz per rad
	out := TrackedTone{
		NominalHz: nominalHz, FreqHz: nominalHz + omega*perSegment, FreqUHz: slopeU * perSegment,
		Phasors: b.mean(), Cov: b.covariance(), Dof: float64(len(b.weight) - 1),
		PhaseStep: t.phase.result(float64(t.segment) / rateHz), LevelStep: t.level.result(float64(t.segment) / rateHz),
	}
	t.toMiddle(&out, omega)
	return out, nil
}

// toMiddle undoes what the turn within a segment took from the amplitude, and
// moves the time origin from the first frame to the middle of the series.
func (t *trackedTone) toMiddle(out *TrackedTone, omega float64) {
	n := float64(t.segment)
	gain := 1.0
	if x := omega / 2; x != 0 {
		gain = n * math.Sin(x/n) / math.Sin(x)
	}
	// Half the series at the nominal frequency; and half a frame at what it is off,
	// as the middle of n frames is frame (n−1)/2.
	half := t.step.Times(uint64(t.series.slots()) * uint64(t.segment) / 2).Phasor()
	turn := half * cmplx.Rect(gain, omega/(2*n))
	for ch := range out.Phasors {
		out.Phasors[ch] *= turn
	}
	turnCovariance(out.Cov, turn)
}

// turnCovariance replaces C by J·C·Jᵀ where J multiplies each complex value by w.
func turnCovariance(c *mat.SymDense, w complex128) {
	n := c.SymmetricDim()
	j := mat.NewDense(n, n, nil)
	for i := 0; i < n; i += 2 {
		j.Set(i, i, real(w))
		j.Set(i, i+1, -imag(w))
		j.Set(i+1, i, imag(w))
		j.Set(i+1, i+1, real(w))
	}
	var t, full mat.Dense
	t.Mul(j, c)
	full.Mul(&t, j.T())
	for i := range n {
		for k := i; k < n; k++ {
			c.SetSym(i, k, (full.At(i, k)+full.At(k, i))/2)
		}
	}
}
