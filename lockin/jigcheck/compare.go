package jigcheck

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/finding"
)

// compare holds noise and hum against an earlier verification.
func (x *exam) compare() {
	if x.Earlier == nil || x.auto || x.out.Has(finding.Dropout) || len(x.of(Idle)) == 0 {
		return
	}
	now := &x.out.Model
	hums, noisy := x.out.Has(finding.Hum), x.out.Has(finding.Noise)
	for ch := range 2 {
		if was := x.Earlier.last(func(v *Verified) float64 { return v.HumRMS[ch] }); was != nil && !hums {
			x.risen(finding.Hum, "hum", ch, [2]float64{now.HumRMS[ch], now.HumU[ch]}, [2]float64{was.HumRMS[ch], was.HumU[ch]}, was.Date,
				"look for what is new: a supply, a lamp, a lead near the mains, a second ground; screen, twist, move")
		}
		if was := x.Earlier.last(func(v *Verified) float64 { return v.NoiseRMS[ch] }); was != nil && !noisy && !hums { // strong hum leaves a rest
			x.risen(finding.Noise, "noise", ch, [2]float64{now.NoiseRMS[ch], now.NoiseU[ch]}, [2]float64{was.NoiseRMS[ch], was.NoiseU[ch]}, was.Date,
				"input volumes as they were? check plugs and leads")
		}
	}
}

// risen compares one figure of one input, with its uncertainty, with the earlier one.
func (x *exam) risen(code finding.Code, what string, ch int, now, was [2]float64, date, advice string) {
	if !(now[0] > 0 && was[0] > 0) {
		return
	}
	q := normal(decibels(now[0]/was[0]), relativeDB(math.Hypot(now[1]/now[0], was[1]/was[0])))
	x.figure("earlier", what+" against the earlier verification", ch+1, 0, q, "dB")
	if q.Value > 0 && beyond(q, ordinaryRise) {
		x.fault(Fault{Code: code, Channel: ch + 1, Value: q, Unit: "dB", Limit: ordinaryRise,
			Detail: fmt.Sprintf("%s of input %d is %.1f dB above the stored earlier verification of %s (95 %%: %s), now %.1f dBFS rms",
				what, ch+1, q.Value, date, interval(q, 1, "dB"), decibels(now[0])),
			Advice: advice})
	}
}
