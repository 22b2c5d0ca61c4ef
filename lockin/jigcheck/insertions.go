package jigcheck

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/finding"
)

// insertions tells how contact and stray change with each insertion.
func (x *exam) insertions() {
	w := func(f float64) float64 { return 2 * math.Pi * f }
	contact := func(f float64, z complex128) float64 { return real(z) }
	stray := func(f float64, y complex128) float64 { return imag(y) / w(f) }
	x.insertion(Short, Contact, "contact", "contact_repeatability", x.Jig.ContactOhm, &x.out.Model.ContactOhm, "Ω", contact, func(float64) float64 { return 1 },
		"clean the contacts, press harder, use four-wire clips; a screw or solder where milliohms count")
	x.insertion(Open, Stray, "stray", "stray_repeatability", x.Jig.StrayFarad, &x.out.Model.StrayFarad, "F", stray, func(f float64) float64 { return 1 / w(f) },
		"fix the leads in place, keep hands away, screen the terminals")
}

// insertion looks at how the value of each recording of a step spreads.
func (x *exam) insertion(step Step, code finding.Code, topic, key string, declared float64, keep *float64, unit string,
	value func(f float64, z complex128) float64, scale func(f float64) float64, advice string) {
	values, noise := x.insertionValues(step, value, scale)
	n := len(values)
	if n < 2 {
		if n == 1 {
			x.note("One insertion of the %s tells nothing of repeatability: record it several times, each put in anew.", step)
		}
		return
	}
	_, sd := spread(values)
	q := beyondNoise(sd, noise, float64(n-1))
	fig := Figure{Topic: topic, Name: "spread over insertions", Value: q, Unit: unit, Of: n}
	x.out.Figures = append(x.out.Figures, fig)
	*keep = q.Value
	limit := x.allowed(key, declared)
	if q.Low == 0 && q.High > 2*limit {
		x.note("A spread of %s below %s is hidden by noise and drift here; a %s reference or a higher level would show it.", topic, si(q.High, unit),
			map[Step]string{Short: "smaller", Open: "larger"}[step])
	}
	if least(sd, noise, float64(n-1)) > limit {
		x.fault(Fault{Code: code, Value: q, Unit: unit, Limit: limit,
			Detail: fmt.Sprintf("%s spreads by %s (k = 1) over %d insertions (95 %%: %s to %s)", topic, si(q.Value, unit), n, si(q.Low, unit), si(q.High, unit)),
			Advice: advice})
	}
}

// insertionValues are one value for each recording of a step, and the standard uncertainty
// of each: the mean over the tones, weighted by their noise in all recordings together. With
// weights of its own for each recording, what crosstalk leaves at each tone would look like
// a spread. The drift of the inputs is the same at all tones and does not average out. The
// reference is as the file has it: its tolerance does not matter to a spread.
func (x *exam) insertionValues(step Step, value func(f float64, z complex128) float64, scale func(f float64) float64) (values []float64, u float64) {
	records := x.of(step)
	values = make([]float64, len(records))
	weight, drift := 0.0, 0.0
	for _, f := range x.freqs {
		at, own, moved := make([]float64, len(records)), 0.0, 0.0
		sound := true
		for i, r := range records {
			p, ok := x.pair(r, f)
			per := x.Jig.ReferenceOhm
			if step == Open {
				p, per = p.swapped(), 1/per
			}
			den := absC(p.q)
			if sound = sound && ok && den > 10*math.Max(p.uP, p.uQ); !sound {
				break
			}
			unit := per * scale(f) / den
			at[i] = value(f, p.p/p.q*complex(per, 0))
			own += math.Max(0, p.uP*p.uP-p.driftP*p.driftP) * unit * unit / float64(len(records))
			moved += p.driftP * unit / float64(len(records))
		}
		if !sound || own <= 0 {
			continue
		}
		for i := range values {
			values[i] += at[i] / own
		}
		weight, drift = weight+1/own, drift+moved/own
	}
	if weight == 0 {
		return nil, 0
	}
	for i := range values {
		values[i] /= weight
	}
	return values, math.Hypot(1/math.Sqrt(weight), drift/weight)
}

// beyondNoise is a standard deviation less that of the noise, with the 95 % interval of
// χ². Where the noise hides it, it is the least that would have been seen.
func beyondNoise(sd, noise, dof float64) quantity {
	chi := distuv.ChiSquared{K: dof}
	less := func(s float64) float64 { return math.Sqrt(math.Max(0, s*s-noise*noise)) }
	q := quantity{Value: less(sd), Low: less(sd * math.Sqrt(dof/chi.Quantile(0.975))), High: less(sd * math.Sqrt(dof/chi.Quantile(0.025)))}
	// The variance of the noise itself scatters by √(2/ν).
	q.Value = math.Max(q.Value, noise*math.Pow(2/dof, 0.25))
	q.High = math.Max(q.High, q.Value)
	q.Low = math.Min(q.Low, q.Value)
	q.U = q.Value / math.Sqrt(2*dof)
	return q
}

// least is what a spread is beyond doubt: one that is smaller shows as large a one in
// as few cases as four standard uncertainties leave.
func least(sd, noise, dof float64) float64 {
	sure := distuv.UnitNormal.CDF(widths)
	s := sd * math.Sqrt(dof/distuv.ChiSquared{K: dof}.Quantile(sure))
	return math.Sqrt(math.Max(0, s*s-noise*noise))
}

func absC(z complex128) float64 { return math.Hypot(real(z), imag(z)) }
