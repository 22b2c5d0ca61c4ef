package jigcheck

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/uncertain"
)

// drifts tells how the ratio of the inputs moves while nothing is touched.
func (x *exam) drifts() {
	records := x.of(Drift)
	if len(records) < 4 {
		x.note("Drift was not measured: the step drift would tell, with four recordings or more of the same thing.")
		return
	}
	f := nearest(x.frequencies(Drift), 1000)
	re, im, at, noise := ratios(records, f)
	n := len(re)
	if n < 4 {
		return
	}
	_, a := spread(re)
	_, b := spread(im)
	sd, dof := math.Sqrt((a*a+b*b)/2), float64(2*(n-1))
	if a > b { // drift of level alone is the usual
		sd, dof = a, float64(n-1)
	}
	q := beyondNoise(sd, noise, dof)
	x.out.Figures = append(x.out.Figures, Figure{Topic: "drift", Name: "ratio of the inputs, over recordings", FreqHz: f, Value: q, Of: n})
	x.drift, x.out.Model.Drift = q.Value, q.Value
	x.allan(re, at)
	if limit := x.allowed("drift", x.Jig.Drift); least(sd, noise, dof) > limit && !x.auto {
		x.fault(Fault{Code: Drifting, FreqHz: f, Value: ppm(q), Unit: "ppm", Limit: limit * 1e6,
			Detail: fmt.Sprintf("the ratio of the inputs moves by %.3g ppm (k = 1) over %d recordings (95 %%: %s)", q.Value*1e6, n, interval(q, 1e6, "ppm")),
			Advice: "let the card warm up for half an hour, keep draughts and hands away, check plugs and volume controls"})
	}
}

// ratios are the logarithms of the ratio of the inputs in each recording against the
// first, when each was made, and the noise of one.
func ratios(records []*Recording, f float64) (re, im, at []float64, noise float64) {
	first := complex(0, 0)
	for _, r := range records {
		h, ok := r.at(f)
		if !ok || cmplx.Abs(h.h[0]) < 100*h.u[0] || cmplx.Abs(h.h[1]) < 100*h.u[1] {
			continue
		}
		v := h.h[1] / h.h[0]
		if first == 0 {
			first = v
		}
		l := cmplx.Log(v / first)
		re, im, at = append(re, real(l)), append(im, imag(l)), append(at, r.AtS)
		noise += sq(h.u[0]/cmplx.Abs(h.h[0])) + sq(h.u[1]/cmplx.Abs(h.h[1]))
	}
	return re, im, at, math.Sqrt(noise / math.Max(1, float64(len(re))))
}

func ppm(q quantity) quantity {
	return quantity{Value: q.Value * 1e6, U: q.U * 1e6, Low: q.Low * 1e6, High: q.High * 1e6}
}

// allan tells up to which averaging time longer helps.
func (x *exam) allan(y, at []float64) {
	step := (at[len(at)-1] - at[0]) / float64(len(at)-1)
	if !(step > 0) {
		return
	}
	curve, err := uncertain.AllanCurve(y, step)
	if err != nil {
		return
	}
	x.out.Allan = curve
	best, worse := uncertain.LongestUseful(curve)
	x.figure("drift", "Allan deviation at its lowest", 0, 0, quantity{Value: best.Deviation, U: (best.High - best.Low) / 4, Low: best.Low, High: best.High}, "")
	if worse {
		x.out.Model.UsefulS = best.TauS
		x.figure("drift", "longest useful average", 0, 0, normal(best.TauS, 0), "s")
	}
}
