package record

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
	"fmt"
	"math"
	"math/cmplx"
)

// A tone on a multiple of the mains frequency cannot be told from a mains line of
// the same order. What the record shows elsewhere says how much of one there may
// be: the line in the silence before the tone, or the neighbouring multiples.

const (
	silenceCycles = 3     // of the mains, needed to see its lines in the silence
	spoilsAbove   = 0.005 // a line this strong against the strongest channel spoils any reading
)

// judgeLines sets LineU of every tone and reports a line that is really there.
func (an *analyzer) judgeLines() {
	if an.turn != nil {
		an.judgeTurned()
		return
	}
	for i := range an.out.Tones {
		t := &an.out.Tones[i]
		base, order := an.hidingOrder(t.FreqHz)
		if order == 0 {
			continue
		}
		line, seen := an.lineInSilence(base, order)
		how := "in the silence before the tone"
		if line == nil {
			line, seen = an.lineByOthers(base, order, t)
			how = "by the other multiples"
		}
		for ch := range line {
			t.LineU[ch] = line[ch] / math.Sqrt2
		}
		if an.takeUnder(t, order) {
			how = "left of it when it is fitted by the frequency of the others"
			for ch := range line {
				line[ch] = t.LineU[ch] * math.Sqrt2
			}
		}
		if seen {
			an.reportLine(t, base, order, line, how)
		}
	}
}

// hidingOrder returns the mains (nominal, or as found) and the order of a multiple
// so near to hz that the record cannot separate the two; order 0 if there is none.
func (an *analyzer) hidingOrder(hz float64) (baseHz float64, order int) {
	candidates, spread := an.mainsCandidates(), 0.1
	if an.hum.present {
		candidates, spread = []float64{an.out.Mains.FreqHz}, 3*an.out.Mains.FreqUHz
	}
	for _, m := range candidates {
		k := math.Round(hz / m)
		if k >= 1 && k <= joint.HiddenOrders && math.Abs(hz-k*m) < joint.ApartBins/an.seconds()+k*spread {
			return m, int(k)
		}
	}
	return 0, 0
}

// longestAdvised is the longest record, in seconds, that is worth advising: a live reading
// goes no farther either, and a tone whose sign turns needs no more than a second.
const longestAdvised = 5

// secondsApart returns how long a stretch separates a tone at hz from a mains multiple,
// 0 where no record of sensible length does: the mains frequency is found better with
// the power 3/2 of the length where it is seen, and not at all elsewhere.
func (an *analyzer) secondsApart(hz, baseHz float64, order int) float64 {
	away, k := math.Abs(hz-float64(order)*baseHz), float64(order)
	for s := an.seconds(); s < longestAdvised; s *= 1.1 {
		spread := 0.1
		if an.hum.present {
			spread = 3 * an.out.Mains.FreqUHz * math.Pow(an.seconds()/s, 1.5)
		}
		if away > 1.1*(joint.ApartBins/s+k*spread) {
			return s
		}
	}
	return 0
}

// lineInSilence fits the mains lines in the silence before the tone. It returns nil
// where the silence is too short; seen says that the line stands out in a channel.
func (an *analyzer) lineInSilence(baseHz float64, order int) (amplitude []float64, seen bool) {
	n := an.span.silence
	seconds := float64(n) / an.sig.RateHz
	if n < minFrames || seconds < silenceCycles/baseHz {
		return nil, false
	}
	m := joint.Model{RateHz: an.sig.RateHz, Degree: 1, MainsHz: baseHz}
	for k := 1; k <= max(order+1, humOrders); k++ {
		if float64(k)*baseHz < 0.45*an.sig.RateHz {
			m.Lines = append(m.Lines, joint.Line{Mains: true, Base: float64(k), Tone: -1, Order: k})
		}
	}
	x := an.sig.Slice(0, n).Channels
	f, err := joint.Solve(x, m, joint.Fine)
	if err != nil {
		return nil, false
	}
	spec := newBins(f.Residual, an.sig.RateHz, an.transforms)
	hz := float64(order) * baseHz
	s, used := spec.sideNoise(hz, m.AllHz(), sideBins)
	if used < 4 {
		return nil, false
	}
	amplitude = make([]float64, len(x))
	for ch := range x {
		p := num.SqAbs(f.Amp[ch][order-1])
		noise := real(s[ch][ch])
		seen = seen || p > detectOver(used)*noise
		amplitude[ch] = math.Sqrt(math.Max(p-noise, noise/4))
	}
	return amplitude, seen
}

// A fundamental is stronger against its multiples than these are among each other.
const fundamentalOver = 1.65

// lineByOthers takes the line to be as strong as the strongest of the other multiples,
// each carried to this order as 1/order: rectifiers and saturated iron make odd
// multiples, bridges even ones, and those beside may be absent. Over drawn spectra of all
// these kinds the line is within 1.73 times that, the 95 % radius of LineU, in 94 % of
// cases and more. Where no multiple stands out of the noise, half of the noise is what
// may hide.
func (an *analyzer) lineByOthers(baseHz float64, order int, t *ToneFit) (amplitude []float64, seen bool) {
	amplitude = make([]float64, len(t.Phasors))
	factor := 1.0
	if order == 1 {
		factor = fundamentalOver
	}
	for ch := range amplitude {
		noise := 2 * t.Cov.At(2*ch, 2*ch)
		power := noise / 2
		for k := firstOther(order); k <= max(order+2, humOrders); k++ {
			if k == order || float64(k)*baseHz > 0.45*an.sig.RateHz || an.toneOn(float64(k)*baseHz) {
				continue
			}
			p := num.Sq(an.lineAmplitude(float64(k)*baseHz, k, ch))
			if p > detectOver(sideBins)*an.noiseAt(float64(k)*baseHz, ch) {
				seen = true
				power = math.Max(power, p*num.Sq(factor*float64(k)/float64(order)))
			}
		}
		amplitude[ch] = math.Sqrt(power)
	}
	return amplitude, seen
}

// firstOther is the lowest multiple from which one of an order is foretold: for high ones
// those up to an octave below, as hum falls faster than 1/order far up.
func firstOther(order int) int {
	if order <= 7 {
		return 1
	}
	return (order + 1) / 2
}

// toneOn says whether a tone stands where a mains line would. Where one of its harmonics
// does, or a line that nobody asked for, it is taken for hum.
func (an *analyzer) toneOn(hz float64) bool {
	for _, l := range an.joint.Model.Lines {
		if an.fundamental(l) && an.tones[l.Tone].origin != beside && math.Abs(an.joint.Model.FreqHz(l)-hz) < 2*an.bins.stepHz+0.002*hz {
			return true
		}
	}
	return false
}

// noiseAt returns the mean square of the amplitude that noise gives a line at hz.
func (an *analyzer) noiseAt(hz float64, ch int) float64 {
	s, _ := an.sideNoise(hz)
	return real(s[ch][ch])
}

// lineAmplitude returns a mains line as fitted, or what the residual has there. A
// harmonic of the tone, or a line that nobody asked for, may have taken it or a share of
// it: the strongest counts.
func (an *analyzer) lineAmplitude(hz float64, order, ch int) float64 {
	top := 0.0
	for l, ln := range an.joint.Model.Lines {
		other := !ln.Mains && (ln.Order > 1 || an.tones[ln.Tone].origin == beside)
		if ln.Mains && ln.Order == order || other && math.Abs(an.joint.Model.FreqHz(ln)-hz) < an.bins.stepHz+0.1*float64(order) {
			top = math.Max(top, cmplx.Abs(an.joint.Amp[ch][l]))
		}
	}
	if top > 0 {
		return top
	}
	k := int(math.Round(hz / an.bins.stepHz))
	if k < 1 || k >= an.bins.len() {
		return 0
	}
	return cmplx.Abs(an.bins.x[ch][k])
}

// strongest returns the largest amplitude of the tone in any channel.
func (t *ToneFit) strongest() float64 {
	top := 0.0
	for _, p := range t.Phasors {
		top = math.Max(top, cmplx.Abs(p))
	}
	return top
}

// reportLine makes the finding of a line that is there.
func (an *analyzer) reportLine(t *ToneFit, baseHz float64, order int, line []float64, how string) {
	top := t.strongest()
	if top == 0 {
		return
	}
	worst := 0
	for ch := range line {
		if line[ch] > line[worst] {
			worst = ch
		}
	}
	share := line[worst] / top
	severity := finding.Warning
	if share > spoilsAbove {
		severity = finding.Invalid
	}
	advice := "move the tone between two multiples of the mains frequency"
	if order <= joint.TurnOrders {
		advice = "play the tone with its sign turned midway, as a stimulus made for this frequency does, and record all of it; or " + advice
	}
	if s := an.secondsApart(t.FreqHz, baseHz, order); s > 0 {
		advice = fmt.Sprintf("record for %.1f s, in which the two are told apart; or %s", math.Ceil(10*s+2)/10, advice)
	}
	an.find(finding.Finding{Code: finding.Interference, Severity: severity, Channel: worst + 1, FreqHz: t.NominalHz,
		Detail: fmt.Sprintf("the tone sits on mains line %d (%.2f Hz): %s of the tone in the stronger channel, %s", order, float64(order)*baseHz, percent(share), how),
		Advice: advice})
}
