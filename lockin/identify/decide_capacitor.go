package identify

import "math"

// Limits between families of capacitors: common practice, no source.
const (
	dielectricLoss   = 0.006   // smallest loss: film and class 1 below, class 2 above
	electrolyticF    = 0.33e-6 // the smallest electrolytic
	plateauLoss      = 0.08    // that series resistance makes at the upper end
	leakyLoss        = 0.02    // that a resistance across makes at the lower end
	seriesCoilH      = 1e-6    // more than leads and foil have
	mostDielectric   = 0.12    // a constant loss above is none of a capacitor
	strongLoss       = 1.0     // resistance larger than reactance
	separateResistor = 0.3     // loss at the upper end of a small capacitor
)

// decideCapacitor looks at loss over frequency.
func decideCapacitor(v *view) *verdict {
	out := &verdict{element: "C", across: "Ls"}
	if l, ok := v.has("Ls"); ok && l > seriesCoilH {
		return decideResonator(v)
	}
	low, high := v.loss(v.lowHz), v.loss(v.highHz)
	least, leastHz := math.Inf(1), 0.0
	leaning := 0
	for _, f := range v.grid() {
		d := v.loss(f)
		if imag(v.z(f)) >= 0 {
			continue
		}
		if d < least {
			least, leastHz = d, f
		}
		if d < strongLoss {
			leaning++
		}
	}
	farad := v.farad()
	out.because("The dissipation factor D is %s and %s; least, %s, at %s.", v.lossAt(v.lowHz), v.lossAt(v.highHz), figure(least), with(leastHz, "Hz"))
	leaks := v.leaks(low, least)
	switch {
	case leaning < 30:
		out.family = Network
		out.because("Resistance outweighs reactance over most of the sweep: this is a resistor with a capacitor.")
	case leaks && low > strongLoss && high > separateResistor:
		out.family = Network
		out.because("Resistance outweighs reactance at both ends, of a resistor across and of one in series: no single part.")
		out.near("loss", low, strongLoss)
		out.near("loss", high, separateResistor)
	case leaks:
		out.family = Leaky
		out.leak(v, low, farad)
	case farad >= electrolyticF && v.plateau(high):
		out.family = Electrolytic
		out.because("The loss rises in proportion to frequency up to a plateau of %s in series, and %s is what electrolytics have.", with(v.series(), "Ω"), with(farad, "F"))
		out.near("loss", high, plateauLoss)
		out.near("capacitance", farad, electrolyticF)
	case farad < electrolyticF && v.plateau(high) && high > separateResistor:
		out.family = Network
		out.because("A series resistance of %s is more than %s has by itself.", with(v.series(), "Ω"), with(farad, "F"))
		out.near("loss", high, separateResistor)
	case least > mostDielectric:
		out.family = Network
		out.because("A loss of %s everywhere is more than any dielectric has.", figure(least))
	case least > dielectricLoss:
		out.family = Class2
		out.because("A loss of %s that hardly depends on frequency is that of a class-2 dielectric.", figure(least))
		out.near("loss", least, dielectricLoss)
	default:
		out.family = LowLoss
		out.because("A loss as small as %s is that of film or class-1 ceramic.", figure(least))
		out.near("loss", least, dielectricLoss)
		out.near("loss", high, plateauLoss)
	}
	return out
}

// lossAt is the loss at an end of the sweep, in words: where the part is inductive it
// has none.
func (v *view) lossAt(freqHz float64) string {
	if imag(v.z(freqHz)) >= 0 {
		return "not defined at " + with(freqHz, "Hz") + ", where the part is inductive"
	}
	return figure(v.loss(freqHz)) + " at " + with(freqHz, "Hz")
}

// farad is the capacitance: of the element, or as read in the middle of the sweep.
func (v *view) farad() float64 {
	for _, name := range []string{"C", "T"} {
		if c, ok := v.has(name); ok {
			if more, ok := v.has("Ca"); ok {
				return c + more
			}
			return c
		}
	}
	f := v.valueHz()
	return -1 / (2 * math.Pi * f * imag(v.z(f)))
}

// leaks tells whether a resistance across makes the loss at the lower end.
func (v *view) leaks(low, least float64) bool {
	_, across := v.has("Rp")
	return across && low > leakyLoss && low > 2*least
}

func (out *verdict) leak(v *view, low, farad float64) {
	ohm, _ := v.has("Rp")
	out.because("Towards low frequencies the loss rises as of %s across %s, %s at %s.", with(ohm, "Ω"), with(farad, "F"), figure(low), with(v.lowHz, "Hz"))
	out.near("loss", low, leakyLoss)
}

// plateau tells whether the loss at the upper end is that of a series resistance.
func (v *view) plateau(high float64) bool {
	_, ok := v.has("Rs")
	if !ok {
		_, ok = v.has("T.R")
	}
	z := v.z(v.highHz)
	return ok && (high > plateauLoss || imag(z) > 0) && real(z) > 0.3*real(v.z(math.Sqrt(v.lowHz*v.highHz)))
}

// series is the resistance at the upper end.
func (v *view) series() float64 { return real(v.z(v.highHz)) }

// valueHz is where values that depend on frequency are given: 1 kHz, or 120 Hz where
// the sweep or the part is made for that.
func (v *view) valueHz() float64 { return min(max(1000, v.lowHz), v.highHz) }
