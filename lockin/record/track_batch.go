package record

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// batches are the means of consecutive parts of a series, turned back to the
// phase at its middle. Their scatter holds noise of any colour up to the length of
// a batch: 8 batches cover 95 % where white-noise formulas cover half.
type batches struct {
	channels int
	z        []complex128 // batch by batch, channel by channel
	weight   []float64    // segments
	at       []float64    // centre, in segments from the middle of the series
}

// batches divides the series into sixteen parts, or eight of a short one. Parts
// without a used segment are left out.
func (s *phasorSeries) batches(omega float64) batches {
	parts := trackBatches
	if len(s.weight) < 2*trackBatches {
		parts = trackBatches / 2
	}
	b := batches{channels: s.channels}
	middle := float64(s.slots()) / 2
	for part := range parts {
		first, end := part*len(s.weight)/parts, (part+1)*len(s.weight)/parts
		b.join(s, first, end, omega, middle)
	}
	return b
}

func (b *batches) join(s *phasorSeries, first, end int, omega, middle float64) {
	sum, weight, at := make([]complex128, s.channels), 0.0, 0.0
	for i := first; i < end; i++ {
		w := s.weight[i]
		t := (float64(i)+0.5)*float64(s.span) - middle
		turn := cmplx.Rect(w, -omega*t)
		for ch := range sum {
			sum[ch] += s.z[i*s.channels+ch] * turn
		}
		weight += w
		at += w * t
	}
	if weight == 0 {
		return
	}
	for _, v := range sum {
		b.z = append(b.z, v/complex(weight, 0))
	}
	b.weight = append(b.weight, weight)
	b.at = append(b.at, at/weight)
}

func (b *batches) total() float64 {
	sum := 0.0
	for _, w := range b.weight {
		sum += w
	}
	return sum
}

// mean returns the weighted mean for each channel.
func (b *batches) mean() []complex128 {
	out, total := make([]complex128, b.channels), b.total()
	for i, w := range b.weight {
		for ch := range out {
			out[ch] += b.z[i*b.channels+ch] * complex(w/total, 0)
		}
	}
	return out
}

// covariance returns that of the means, Re and Im of each channel in turn:
// n/(n−1)·Σ (w/W)²·e·eᵀ over the n batches.
func (b *batches) covariance() *mat.SymDense {
	mean, total, n := b.mean(), b.total(), len(b.weight)
	cov := mat.NewSymDense(2*b.channels, nil)
	e := mat.NewVecDense(2*b.channels, nil)
	for i, w := range b.weight {
		for ch := range mean {
			d := b.z[i*b.channels+ch] - mean[ch]
			e.SetVec(2*ch, real(d))
			e.SetVec(2*ch+1, imag(d))
		}
		share := w / total
		cov.SymRankOne(cov, share*share*float64(n)/float64(n-1), e)
	}
	return cov
}

// slope fits a line to the phase that all channels share and returns its slope,
// in rad per segment, with its standard uncertainty; infinite from two batches.
func (b *batches) slope() (slope, u float64) {
	phase := b.phases()
	total, n := b.total(), float64(len(b.weight))
	meanT, meanP := 0.0, 0.0
	for i, w := range b.weight {
		meanT += w * b.at[i] / total
		meanP += w * phase[i] / total
	}
	tt, tp := 0.0, 0.0
	for i, w := range b.weight {
		tt += w * (b.at[i] - meanT) * (b.at[i] - meanT)
		tp += w * (b.at[i] - meanT) * (phase[i] - meanP)
	}
	slope = tp / tt
	if n <= 2 {
		return slope, math.Inf(1)
	}
	rest := 0.0
	for i, w := range b.weight {
		d := phase[i] - meanP - slope*(b.at[i]-meanT)
		rest += w * d * d
	}
	return slope, math.Sqrt(rest / (n - 2) / tt)
}

// phases returns the phase of each batch against the first, by the channels' joint
// turn, unwrapped.
func (b *batches) phases() []float64 {
	out := make([]float64, len(b.weight))
	for i := 1; i < len(out); i++ {
		turn := complex128(0)
		for ch := range b.channels {
			turn += b.z[i*b.channels+ch] * cmplx.Conj(b.z[(i-1)*b.channels+ch])
		}
		out[i] = out[i-1] + cmplx.Phase(turn)
	}
	return out
}
