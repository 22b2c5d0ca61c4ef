package jigcheck

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/finding"
)

// inputs is what both inputs do at one frequency, relative to the first.
type inputs struct {
	gain   complex128    // G2/G1
	gainU  float64       // relative, each axis
	cross  [2]complex128 // c12, c21
	crossU [2]float64
}

// volts takes what was heard back to the voltages on the inputs, on the scale of the
// first, with the standard uncertainty of each axis from noise alone.
func (in inputs) volts(h heard) (v [2]complex128, u [2]float64) {
	a, b := h.h[0], h.h[1]/in.gain
	det := 1 - in.cross[0]*in.cross[1]
	v = [2]complex128{(a - in.cross[0]*b) / det, (b - in.cross[1]*a) / det}
	return v, [2]float64{h.u[0], h.u[1] / cmplx.Abs(in.gain)}
}

// scale is the ratio of the gains that the full scales of the jig file make.
func (e *Evidence) scale() float64 {
	if v := e.Jig.FullScaleVolt; len(v) == 2 && v[1] > 0 {
		return v[0] / v[1]
	}
	return 1
}

// channels finds gain, delay and crosstalk.
func (x *exam) channels() {
	for _, f := range x.freqs {
		x.inputs[f] = x.inputsAt(f)
	}
	x.reportGain()
	x.reportCrosstalk()
}

// inputsAt solves for the inputs. Crosstalk acts on the recording of both on one node,
// too, so both are found in turn; each turn gains a factor as small as the crosstalk.
func (x *exam) inputsAt(f float64) inputs {
	in := inputs{gain: complex(x.scale(), 0), gainU: x.Jig.ChannelMatch}
	joined, known := complex(0, 0), false
	weight := 0.0
	for _, r := range x.of(Joined) {
		h, ok := r.at(f)
		if !ok || h.h[0] == 0 || h.h[1] == 0 {
			continue
		}
		u := math.Hypot(h.u[0]/cmplx.Abs(h.h[0]), h.u[1]/cmplx.Abs(h.h[1]))
		weight += 1 / (u*u + x.drift*x.drift)
		joined += h.h[1] / h.h[0] * complex(1/(u*u+x.drift*x.drift), 0)
		known = true
	}
	if known {
		joined /= complex(weight, 0)
		in.gain, in.gainU = joined, 1/math.Sqrt(weight)
	}
	for range 4 {
		in.leak(0, x.of(Terminated1), f)
		in.leak(1, x.of(Terminated2), f)
		if known {
			in.gain = joined * (1 + in.cross[0]) / (1 + in.cross[1])
		}
	}
	return in
}

// leak takes the crosstalk into an input from recordings in which it is terminated.
func (in *inputs) leak(into int, recordings []*Recording, f float64) {
	sum, weight := complex(0, 0), 0.0
	for _, r := range recordings {
		h, ok := r.at(f)
		if !ok || cmplx.Abs(h.h[1-into]) < 10*h.u[1-into] {
			continue
		}
		ratio := in.gain // from the scale of the first to that of the second
		if into == 1 {
			ratio = 1 / in.gain
		}
		c := h.h[into] / h.h[1-into] * ratio
		u := h.u[into] / cmplx.Abs(h.h[1-into]) * cmplx.Abs(ratio)
		w := 1 / math.Max(u*u, 1e-30)
		sum, weight = sum+c*complex(w, 0), weight+w
	}
	if weight > 0 {
		in.cross[into], in.crossU[into] = sum/complex(weight, 0), 1/math.Sqrt(weight)
	}
}

// reportGain tells gain and delay of the second input against the first.
func (x *exam) reportGain() {
	if len(x.of(Joined)) == 0 {
		x.note("Gain and delay between the inputs were not measured apart from the reference: the step joined would.")
		return
	}
	var freqs, phase, phaseU []float64
	for _, f := range x.freqs {
		in := x.inputs[f]
		relative := cmplx.Abs(in.gain)/x.scale() - 1
		x.figure("inputs", "gain 2/1 less 1", 0, f, normal(relative, in.gainU*(1+relative)), "")
		freqs, phase, phaseU = append(freqs, f), append(phase, cmplx.Phase(in.gain)), append(phaseU, in.gainU)
	}
	if len(freqs) == 0 {
		return
	}
	x.judgeGain()
	turn, turnU := delayOf(freqs, phase, phaseU)
	rate := x.of(Joined)[0].Analysis.RateHz
	q := normal(turn*rate, turnU*rate)
	x.figure("inputs", "delay of input 2", 0, 0, q, "samples")
	x.judgeSkew(q, "")
}

func (x *exam) judgeGain() {
	f := nearest(x.freqs, 1000)
	in := x.inputs[f]
	q := normal(cmplx.Abs(in.gain)/x.scale()-1, in.gainU)
	limit := ordinaryGain
	if x.Stated["channel_match"] {
		limit = ordinaryTimes * x.Jig.ChannelMatch
	}
	x.out.Model.Gain = 1 + q.Value
	if beyond(q, limit) {
		x.fault(Fault{Code: Gain, FreqHz: f, Value: q, Limit: limit,
			Detail: fmt.Sprintf("with both inputs on one node, input 2 hears %.4g times what input 1 hears", 1+q.Value),
			Advice: "set both input volumes to the same mark, or 100 %, and leave them; calibration takes the rest"})
	}
}

func (x *exam) judgeSkew(q quantity, doubt string) {
	x.out.Model.DelaySamples = q.Value
	if !beyond(q, ordinarySkew) {
		return
	}
	late := 2
	if q.Value < 0 {
		late = 1
	}
	x.fault(Fault{Code: Skew, Channel: late, Value: q, Unit: "samples", Limit: ordinarySkew,
		Detail: fmt.Sprintf("input %d is late by %s samples (95 %%: %s)", late, figures(math.Abs(q.Value), q.U), interval(abs(q), 1, "")) + doubt,
		Advice: "a card that takes its inputs in turn or starts one late: harmless after calibration at the frequencies in use, " +
			"as long as it stays; check it again after each start, and name the device directly"})
}

// delayOf fits a delay in seconds to phases: φ = -2πf·τ + b/f. The second term is
// that of high-passes with different corners; with fewer than three tones it is left
// out and the highest tone decides.
func delayOf(freqs, phase, u []float64) (tau, tauU float64) {
	n := len(freqs)
	if n < 3 {
		w := -2 * math.Pi * freqs[n-1]
		return phase[n-1] / w, u[n-1] / math.Abs(w)
	}
	var aa, ab, bb, ay, by float64
	for i, f := range freqs {
		a, b, w := -2*math.Pi*f, 1/f, 1/math.Max(u[i]*u[i], 1e-24)
		aa, ab, bb = aa+w*a*a, ab+w*a*b, bb+w*b*b
		ay, by = ay+w*a*phase[i], by+w*b*phase[i]
	}
	det := aa*bb - ab*ab
	return (bb*ay - ab*by) / det, math.Sqrt(bb / det)
}

// reportCrosstalk tells what leaks from input to input.
func (x *exam) reportCrosstalk() {
	for into, step := range []Step{Terminated1, Terminated2} {
		if len(x.of(step)) == 0 {
			x.note("What leaks into input %d was not measured: the step %s would tell.", into+1, step)
			continue
		}
		worst, at := normal(0, 0), 0.0
		for _, f := range x.freqs {
			in := x.inputs[f]
			q := normal(cmplx.Abs(in.cross[into]), in.crossU[into])
			x.figure("inputs", "crosstalk", into+1, f, q, "")
			if q.Value-widths*q.U > worst.Value-widths*worst.U || at == 0 {
				worst, at = q, f
			}
		}
		if at == 0 || !beyond(worst, ordinaryCrosstalk) {
			continue
		}
		db := normal(decibels(worst.Value), relativeDB(worst.U/worst.Value))
		x.fault(Fault{Code: Crosstalk, Channel: into + 1, FreqHz: at, Value: db, Unit: "dB", Limit: decibels(ordinaryCrosstalk),
			Detail: fmt.Sprintf("input %d hears input %d at %.1f dB (%.3g of it) with its own plug closed", into+1, 2-into, db.Value, worst.Value),
			Advice: "screened leads apart from each other, one ground point, no adapter that joins the channels; " +
				"without an open and a short the error of a reading is of this size"})
	}
}

var _ finding.Code = Skew
