package record

import (
	"math"
	"sort"
)

// Tones are looked for within clockSearch of where they should be, two clocks and
// some room; a strong line elsewhere is a tone at the wrong frequency.
const (
	clockSearch = 2500e-6
	peakOver    = 25  // a peak counts from this power above the floor: 1e-9 of noise bins do
	strayOver   = 1e4 // … and this for a tone that is not where it should be
)

// locate finds the tones that were asked for, or all tones where none were.
func (an *analyzer) locate() {
	spec := newBins(an.used().Channels, an.sig.RateHz, an.transforms).tapered()
	switch {
	case len(an.cfg.TonesHz) == 0:
		an.locateAll(spec)
	case an.cfg.Stepped:
		an.locateStepped(spec)
	default:
		an.locateAsked(spec)
	}
}

// locateAsked looks for each tone near its place. Tones that are missing stay in the
// list at their nominal frequency, so that the fit can say how little is there,
// unless nothing is found at all.
func (an *analyzer) locateAsked(spec bins) {
	found := 0
	for _, f := range an.cfg.TonesHz {
		t := located{nominalHz: f, foundHz: f}
		if hz, p, floor, ok := an.peakFor(spec, f); ok {
			t.foundHz, t.power, t.over = hz, p, p/floor
			found++
		}
		an.tones = append(an.tones, t)
	}
	if found > 0 {
		return
	}
	stray, power, ok := an.strayTone(spec)
	if !ok {
		an.tones = nil
		return
	}
	nearest := 0
	for i, t := range an.tones {
		if math.Abs(t.nominalHz-stray) < math.Abs(an.tones[nearest].nominalHz-stray) {
			nearest = i
		}
	}
	an.tones[nearest].foundHz, an.tones[nearest].power = stray, power
	an.tones = an.tones[nearest : nearest+1]
}

// locateStepped keeps only the tones that this record holds. A peak belongs to the
// nominal frequency nearest to it: tones may lie closer together than the clocks.
func (an *analyzer) locateStepped(spec bins) {
	for i, f := range an.cfg.TonesHz {
		hz, p, floor, ok := an.peakFor(spec, f)
		if !ok || nearestIndex(an.cfg.TonesHz, hz) != i {
			continue
		}
		an.tones = append(an.tones, located{nominalHz: f, foundHz: hz, power: p, over: p / floor})
	}
	an.dropWeak()
}

// dropWeak removes tones that are no more than the skirt or a product of a much
// stronger one: a stepped record holds its tones at similar levels.
func (an *analyzer) dropWeak() {
	strongest := 0.0
	for _, t := range an.tones {
		strongest = math.Max(strongest, t.power)
	}
	kept := an.tones[:0]
	for _, t := range an.tones {
		if t.power > 1e-4*strongest {
			kept = append(kept, t)
		}
	}
	an.tones = kept
}

// peakFor returns the peak near a nominal frequency, if it rises from the floor.
func (an *analyzer) peakFor(spec bins, f float64) (hz, power, floor float64, ok bool) {
	reach := clockSearch*f + 1.5*spec.stepHz
	hz, power, ok = spec.peakNear(f-reach, f+reach)
	if !ok || math.Abs(hz-f) > clockSearch*f+spec.stepHz {
		hz, power, ok = f, spec.shoulder(f), true
	}
	wide := math.Max(60*spec.stepHz, 0.1*f)
	floor = spec.floor(f-wide, f+wide)
	return hz, power, floor, power > peakOver*floor
}

// shoulder returns the power at hz where it stands on the side of a near peak of like
// strength, as a tone does whose neighbour is hardly resolved; 0 on a mere skirt.
func (b bins) shoulder(hz float64) float64 {
	k := int(math.Round(hz / b.stepHz))
	if k < 2 || k > b.len()-3 {
		return 0
	}
	near, top := 0.0, 0.0
	for i := 1; i < b.len()-1; i++ {
		p := b.power(i)
		top = math.Max(top, p)
		if i > k-4 && i < k+4 {
			near = math.Max(near, p)
		}
	}
	if p := b.power(k); p > 0.05*near && p > 1e-4*top {
		return p
	}
	return 0
}

// strayTone returns the strongest peak of the spectrum that is no mains line.
func (an *analyzer) strayTone(spec bins) (hz, power float64, ok bool) {
	floor := spec.floor(0, an.sig.RateHz/2)
	for _, p := range an.withoutMains(spec.peaks(strayOver*floor), spec.stepHz) {
		if p.power > power {
			hz, power, ok = p.foundHz, p.power, true
		}
	}
	return hz, power, ok
}

// withoutMains drops the mains lines from peaks, which come by frequency: those on a
// multiple of 50 or 60 Hz, as near as the mains hold theirs and the record resolves, that
// are not ten times stronger than every mains line below them. Hum falls off towards
// higher multiples; a tone of 1 kHz need not.
func (an *analyzer) withoutMains(peaks []located, stepHz float64) []located {
	mains := make([]bool, len(peaks))
	var out []located
	for i, p := range peaks {
		for _, m := range an.mainsCandidates() {
			order := mainsOrder(p.foundHz, m, stepHz)
			mains[i] = mains[i] || order == 1
			for j, q := range peaks[:i] {
				mains[i] = mains[i] || order > 1 && mains[j] && q.power > 0.01*p.power && mainsOrder(q.foundHz, m, stepHz) > 0
			}
		}
		if !mains[i] {
			out = append(out, p)
		}
	}
	return out
}

// mainsOrder returns which multiple of the mains hz lies on, 0 for none up to the 40th.
func mainsOrder(hz, mainsHz, stepHz float64) int {
	order := math.Round(hz / mainsHz)
	if order >= 1 && order <= humOrdersMax && math.Abs(hz-order*mainsHz) < order*0.2+1.5*stepHz {
		return int(order)
	}
	return 0
}

func (an *analyzer) mainsCandidates() []float64 {
	if an.cfg.MainsHz != 0 {
		return []float64{an.cfg.MainsHz}
	}
	return []float64{50, 60}
}

// peaks returns the local maxima of the spectrum above a power.
func (b bins) peaks(above float64) []located {
	var out []located
	for k := 2; k < b.len()-2; k++ {
		p := b.power(k)
		if p > above && p >= b.power(k-1) && p > b.power(k+1) {
			hz := b.refine(k)
			out = append(out, located{nominalHz: hz, foundHz: hz, power: p, origin: found})
		}
	}
	return out
}

// How far below the strongest tone another line still counts as a tone where none
// were asked for, and how many there may be.
const (
	otherTones = 1e-5 // in power: -50 dB
	mostTones  = 128
)

// locateAll finds every tone: peaks that are no mains lines, no side lobes and no
// harmonics 20 dB or more below a tone that they are multiples of.
func (an *analyzer) locateAll(spec bins) {
	floor := spec.floor(0, an.sig.RateHz/2)
	peaks := an.withoutMains(spec.peaks(4*peakOver*floor), spec.stepHz/2)
	sort.Slice(peaks, func(i, j int) bool { return peaks[i].power > peaks[j].power })
	for _, p := range peaks {
		if len(an.tones) == mostTones || p.power < otherTones*peaks[0].power {
			break
		}
		if p.foundHz < highestTone*an.sig.RateHz && !an.belongsTo(p, spec.stepHz) {
			an.tones = append(an.tones, p)
		}
	}
	sort.Slice(an.tones, func(i, j int) bool { return an.tones[i].foundHz < an.tones[j].foundHz })
}

// belongsTo says whether a peak is the skirt or a weak harmonic of a tone found before.
func (an *analyzer) belongsTo(p located, stepHz float64) bool {
	for _, t := range an.tones {
		if math.Abs(p.foundHz-t.foundHz) < 6*stepHz {
			return p.power < 0.03*t.power || math.Abs(p.foundHz-t.foundHz) < 2*stepHz
		}
		order := math.Round(p.foundHz / t.foundHz)
		if order >= 2 && math.Abs(p.foundHz-order*t.foundHz) < 1.5*stepHz && p.power < 0.01*t.power {
			return true
		}
	}
	return false
}

func nearestIndex(list []float64, x float64) int {
	best := 0
	for i, v := range list {
		if math.Abs(v-x) < math.Abs(list[best]-x) {
			best = i
		}
	}
	return best
}

func sortedCopy(x []float64) []float64 {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	return s
}
