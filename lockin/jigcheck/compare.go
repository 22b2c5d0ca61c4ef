package jigcheck

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin"
)

// compare holds noise and hum against an earlier verification.
func (x *exam) compare() {
	if x.Earlier == nil || x.auto || x.out.Has(lockin.Dropout) || len(x.of(Idle)) == 0 {
		return
	}
	now, was := &x.out.Model, x.Earlier
	for ch := range 2 {
		x.risen(lockin.Hum, "hum", ch, now.HumRMS[ch], now.HumU[ch], was.HumRMS[ch], was.HumU[ch],
			"look for what is new: a supply, a lamp, a lead near the mains, a second ground; screen, twist, move")
		if !x.out.Has(lockin.Noise) {
			x.risen(lockin.Noise, "noise", ch, now.NoiseRMS[ch], now.NoiseU[ch], was.NoiseRMS[ch], was.NoiseU[ch],
				"input volumes as they were? check plugs and leads")
		}
	}
}

// risen compares one figure of one input with the earlier one.
func (x *exam) risen(code lockin.Code, what string, ch int, now, nowU, was, wasU float64, advice string) {
	if !(now > 0 && was > 0) {
		return
	}
	q := normal(decibels(now/was), relativeDB(math.Hypot(nowU/now, wasU/was)))
	x.figure("earlier", what+" against the earlier verification", ch+1, 0, q, "dB")
	if q.Value > 0 && beyond(q, ordinaryRise) {
		x.fault(Fault{Code: code, Channel: ch + 1, Value: q, Unit: "dB", Limit: ordinaryRise,
			Detail: fmt.Sprintf("%s of input %d is %.1f dB above the stored earlier verification of %s (95 %%: %s), now %.1f dBFS rms",
				what, ch+1, q.Value, x.Earlier.Date, interval(q, 1, "dB"), decibels(now)),
			Advice: advice})
	}
}
