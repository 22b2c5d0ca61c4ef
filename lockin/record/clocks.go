package record

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/joint"
	"gonum.org/v1/gonum/stat/distuv"
)

// Every tone that shows its frequency is fitted at that frequency: it costs nothing, as
// phase in the middle of a stretch and frequency do not correlate, and tones of two
// players need not share a clock. Weak tones, whose frequency the record leaves open by
// more than 0.05 cycles, and tones too near to another to be told from its skirts, go by
// the clock of the tone that shows it best.
const (
	ownClockOver = 90 // power over the floor: 0.39/√(power/noise) cycles, 3/2 for the window
	ownClockBins = 4
)

// shareClocks gives the tone that shows its clock best a clock, the first of the model.
func (an *analyzer) shareClocks(m *joint.Model) {
	t := an.clockTone()
	off := t.foundHz/t.nominalHz - 1
	if math.Abs(off) > clockSearch {
		off = 0 // another tone; it is taken from where it was found
	}
	m.AddClock(off, an.clockBound(t))
}

// clockBound keeps a fit within the peak that it began on.
func (an *analyzer) clockBound(t located) float64 { return 0.6 / (an.seconds() * t.foundHz) }

// toneLine returns the line of tone i, on a clock of its own or on the first.
func (an *analyzer) toneLine(m *joint.Model, i int, t located) joint.Line {
	l := joint.Line{Base: t.nominalHz, Tone: i, Order: 1, Turned: an.turning() && !t.plain}
	switch {
	case t.origin != asked:
		l.Base, l.Clock = t.foundHz, len(m.Eps)
		m.AddClock(0, an.clockBound(t))
	case t == an.clockTone():
		if math.Abs(t.foundHz/t.nominalHz-1) > clockSearch {
			l.Base = t.foundHz
		}
	case an.ownClock(t):
		l.Clock = len(m.Eps)
		m.AddClock(t.foundHz/t.nominalHz-1, an.clockBound(t))
	}
	return l
}

// ownClock says whether the record shows the frequency of a tone that was asked for.
func (an *analyzer) ownClock(t located) bool {
	if t.over < ownClockOver {
		return false
	}
	for _, u := range an.tones {
		if u.power > t.power && math.Abs(u.foundHz-t.foundHz) < ownClockBins/an.seconds() {
			return false
		}
	}
	return true
}

// clockTone returns the tone that tells most about the clocks: information on ε
// grows with the power and with the square of the frequency.
func (an *analyzer) clockTone() located {
	best := an.tones[0]
	for _, t := range an.tones {
		if t.origin != beside && t.power*t.foundHz*t.foundHz > best.power*best.foundHz*best.foundHz {
			best = t
		}
	}
	return best
}

// clockReading is what one tone says of the clocks.
type clockReading struct {
	nominalHz float64
	off, u    float64 // relative
}

// Tones are taken to share a clock unless noise makes them differ as much less often than
// once in 10⁴ records, a difference of clockFloor apart: some sound recordings differ by
// some 1e-8, which no reading notices.
const (
	clockAlpha = 1e-4
	clockFloor = 1e-7
)

// judgeClocks takes the mean over the tones that were asked for and tests whether they
// share one clock: the mean square of their differences from it over their variances, as
// F with n − 1 and, as each variance is that of side bins, 2·sideBins degrees of freedom.
func (an *analyzer) judgeClocks() {
	if an.tones[0].origin != asked {
		return
	}
	var list []clockReading
	used := map[int]bool{}
	for i, t := range an.tones {
		ln := an.lineFor(i)
		if t.origin != asked || used[ln.Clock] {
			continue
		}
		used[ln.Clock] = true
		list = append(list, clockReading{t.nominalHz, an.joint.Model.FreqHz(ln)/t.nominalHz - 1, an.epsU(ln.Clock)})
	}
	mean, u := meanClock(list)
	an.out.ClockPPM, an.out.ClockUPPM = -1e6*mean, 1e6*u
	if p := sharedClock(list); p < clockAlpha {
		an.find(severalClocks(list))
	}
}

func meanClock(list []clockReading) (mean, u float64) {
	sum, weight := 0.0, 0.0
	for _, c := range list {
		w := 1 / (c.u * c.u)
		sum, weight = sum+w*c.off, weight+w
	}
	if weight == 0 {
		return list[0].off, math.Inf(1)
	}
	return sum / weight, 1 / math.Sqrt(weight)
}

// sharedClock returns the probability of differences as large from noise alone.
func sharedClock(list []clockReading) float64 {
	if len(list) < 2 {
		return 1
	}
	wide := make([]clockReading, len(list))
	for i, c := range list {
		wide[i] = clockReading{c.nominalHz, c.off, math.Hypot(c.u, clockFloor)}
	}
	mean, _ := meanClock(wide)
	chi2 := 0.0
	for _, c := range wide {
		chi2 += (c.off - mean) * (c.off - mean) / (c.u * c.u)
	}
	free := float64(len(list) - 1)
	return distuv.F{D1: free, D2: 2 * sideBins}.Survival(chi2 / free)
}

// severalClocks names the tone that stands apart, where the others agree without it.
func severalClocks(list []clockReading) finding.Finding {
	f := finding.Finding{Code: finding.SeveralClocks, Severity: finding.Warning,
		Advice: "play all tones from one file, and let one program play and record; the readings are taken at the frequencies found"}
	odd, best := -1, clockAlpha
	for i := range list {
		if len(list) < 3 {
			break
		}
		others := append(append([]clockReading(nil), list[:i]...), list[i+1:]...)
		if p := sharedClock(others); p > best {
			odd, best = i, p
		}
	}
	if odd >= 0 {
		mean, _ := meanClock(append(append([]clockReading(nil), list[:odd]...), list[odd+1:]...))
		f.FreqHz = list[odd].nominalHz
		f.Detail = fmt.Sprintf("the tone at %g Hz stands %s from the clock of the others", f.FreqHz, ppm(list[odd].off-mean))
		return f
	}
	low, high := list[0], list[0]
	for _, c := range list {
		if c.off < low.off {
			low = c
		}
		if c.off > high.off {
			high = c
		}
	}
	f.Detail = fmt.Sprintf("the tones do not share one clock: %g Hz and %g Hz are %s apart", low.nominalHz, high.nominalHz, ppm(high.off-low.off))
	return f
}

// ppm writes a relative difference in parts per million, to two digits or to the unit.
func ppm(share float64) string {
	v := math.Abs(share) * 1e6
	if v < 10 {
		return fmt.Sprintf("%.2g ppm", v)
	}
	return fmt.Sprintf("%.0f ppm", v)
}
