package record

import (
	"cmp"
	"math"
	"slices"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/trouble"
)

// checkSamples looks at the samples one by one: finite, alive, how large.
func (an *analyzer) checkSamples() {
	first, end := 0, an.out.Frames
	for ch, x := range an.sig.Channels {
		s := trouble.ExamineSamples(x, an.sig.RateHz)
		an.out.Peak[ch], an.out.Silent[ch] = s.Peak, s.Silent
		first, end = max(first, s.FiniteFirst), min(end, s.FiniteEnd)
		an.out.Findings = append(an.out.Findings, s.Findings(ch, an.sig.RateHz, false)...)
	}
	an.span.first, an.span.end = first, max(first, end)
	for ch, x := range an.sig.Channels {
		an.grid[ch] = trouble.CoarseGrid(x[an.span.first:an.span.end])
	}
	// A channel without the tone may be what an open or a short makes; whether it may
	// be dead is for those to say who know what was connected.
	if an.anyAlive() {
		for i := range an.out.Findings {
			if an.out.Findings[i].Code == finding.NoSignal {
				an.out.Findings[i].Severity = finding.Warning
			}
		}
	}
}

func (an *analyzer) anyAlive() bool {
	for _, silent := range an.out.Silent {
		if !silent {
			return true
		}
	}
	return false
}

// nothingLeft says that no stretch of finite, living samples is long enough.
func (an *analyzer) nothingLeft() bool {
	return an.span.end-an.span.first < minFrames || !an.anyAlive()
}

// enoughSoundS is how long a stretch beside a break must be for the reading to stand:
// about what one would record afresh.
const enoughSoundS = 0.45

// avoidBreaks looks for missing, zero and repeated samples, keeps the longest stretch
// without any, and fits that. Hum is taken out first: in a channel where the tone is
// weak it beats with the tone, which looks like a change of level. What was cut off at
// the edges is looked at, too: it is where a break near an end shows first.
func (an *analyzer) avoidBreaks() error {
	wide := an.untrimmed
	length := wide.end - wide.first
	watched := an.telling(mostWatched)
	// What stands beside the tones may be the break itself, spread out by the fit.
	clean := an.freed(wide, func(l joint.Line) bool {
		return !l.Mains && (an.tones[l.Tone].origin == beside || slices.Contains(watched, l.Tone))
	})
	gaps := trouble.FindBreaks(an.strongChannels(clean), an.sig.RateHz, an.hzOf(watched), 0, length)
	gaps = slices.DeleteFunc(an.asTheyCame(wide, gaps), func(g trouble.Gap) bool { return an.mayBeFade(g, wide, slices.Min(an.hzOf(watched))) })
	found := len(gaps)
	gaps = slices.DeleteFunc(gaps, func(g trouble.Gap) bool { return g.Kind == trouble.GapClock })
	an.clockSteps += found - len(gaps)
	if len(gaps) == 0 {
		return nil
	}
	from, to := trouble.LongestSound(gaps, 0, length)
	kept := span{first: max(an.span.first, wide.first+from), end: min(an.span.end, wide.first+to)}
	for _, g := range gaps {
		g.Frame, g.End = g.Frame+wide.first, g.End+wide.first
		an.gaps = append(an.gaps, g)
	}
	an.out.Findings = append(an.out.Findings, trouble.GapFindings(an.gaps, an.sig.RateHz, float64(kept.end-kept.first) >= enoughSoundS*an.sig.RateHz)...)
	if kept.first == an.span.first && kept.end == an.span.end {
		return nil
	}
	if kept.end-kept.first < minFrames { // the longest sound part is what was cut off
		kept.first, kept.end = wide.first+from, wide.first+to
	}
	an.span.first, an.span.end, an.span.margin = kept.first, kept.end, 0
	return an.fit()
}

// A fade may seem to turn the phase of a tone by fadePhase, within fadeReach of an end of
// the stretch; little harm is done by a true break that small, so near an end.
const (
	fadePhase = 0.05
	fadeReach = 0.04 // seconds, or four periods of the slowest tone watched
)

// mayBeFade says that what seems a break in a stretch is no more than what a fade makes.
func (an *analyzer) mayBeFade(g trouble.Gap, s span, slowestHz float64) bool {
	reach := int(math.Max(fadeReach, 4/slowestHz) * an.sig.RateHz)
	atEnd := g.End < reach || g.Frame > s.end-s.first-reach
	return atEnd && (g.Kind == trouble.GapMissing || g.Kind == trouble.GapClock) && math.Abs(g.PhaseRad) < fadePhase
}

// asTheyCame looks for breaks in the samples as they came, which tell best of what kind
// one is: zeros are zeros. Runs of one value and blocks that stand twice are certain,
// also where nothing else shows them.
func (an *analyzer) asTheyCame(s span, gaps []trouble.Gap) []trouble.Gap {
	x := an.strongChannels(an.sig.Slice(s.first, s.end).Channels)
	if len(x) == 0 || len(gaps) == 0 && len(trouble.ConstantRuns(x, 0, len(x[0]), trouble.ShortestRun)) == 0 {
		return gaps
	}
	raw := trouble.FindBreaks(x, an.sig.RateHz, an.foundHz(), 0, s.end-s.first)
	if len(raw) == len(gaps) {
		return raw
	}
	for _, g := range raw {
		if g.Rank() >= trouble.Certain {
			gaps = append(gaps, g)
		}
	}
	return trouble.MergeGaps(gaps, 0)
}

// freed returns a stretch without the lines of the model but those that keep says to
// keep, which go on beyond where they were fitted.
func (an *analyzer) freed(s span, keep func(joint.Line) bool) [][]float64 {
	out := make([][]float64, len(an.joint.Amp))
	for ch := range out {
		x := an.sig.Channels[ch][s.first:s.end]
		out[ch] = an.linesOver(ch, s.first-an.span.first, s.end-an.span.first, func(l joint.Line) bool { return !keep(l) })
		for i, v := range out[ch] {
			out[ch][i] = x[i] - an.joint.Poly[ch][0] - v
		}
	}
	return out
}

// mostWatched is how many tones are followed through the record: of many, most only
// stand in each other's way.
const mostWatched = 2

// telling returns the tones, by index, on which a lost sample shows most: those of the
// largest product of level and frequency.
func (an *analyzer) telling(most int) []int {
	weight := make([]float64, len(an.tones))
	var list []int
	for l, ln := range an.joint.Model.Lines {
		if an.fundamental(ln) && an.tones[ln.Tone].origin != beside {
			for ch := range an.joint.Amp {
				weight[ln.Tone] = math.Max(weight[ln.Tone], num.SqAbs(an.joint.Amp[ch][l])*ln.Base*ln.Base)
			}
			list = append(list, ln.Tone)
		}
	}
	slices.SortFunc(list, func(a, b int) int { return cmp.Compare(weight[b], weight[a]) })
	return list[:min(most, len(list))]
}

func (an *analyzer) hzOf(tones []int) []float64 {
	var out []float64
	for _, i := range tones {
		out = append(out, an.tones[i].foundHz)
	}
	return out
}

// weakChannel is the share of the strongest channel below which one says little about
// the record: samples are lost from all channels alike, and hum, noise and crosstalk
// are large against what an open or a short leaves.
const weakChannel = 0.03

// strongChannels leaves out the channels in which the tones are weak.
func (an *analyzer) strongChannels(x [][]float64) [][]float64 {
	level := make([]float64, len(x))
	top := 0.0
	for ch, amp := range an.joint.Amp {
		for l, a := range amp {
			if an.fundamental(an.joint.Model.Lines[l]) {
				level[ch] = math.Max(level[ch], num.SqAbs(a))
			}
		}
		top = math.Max(top, level[ch])
	}
	var out [][]float64
	for ch := range x {
		if level[ch] >= num.Sq(weakChannel)*top {
			out = append(out, x[ch])
		}
	}
	return out
}

// cleaned returns the stretch with everything the model knows taken out but the lines
// that keep says to keep: no offset, no mains, no other tones.
func (an *analyzer) cleaned(keep func(joint.Line) bool) [][]float64 {
	out := make([][]float64, len(an.joint.Amp))
	for ch := range out {
		out[ch] = an.linesAlone(ch, keep)
		for i, r := range an.joint.Residual[ch] {
			out[ch][i] += r
		}
	}
	return out
}

func (an *analyzer) anyTone(l joint.Line) bool     { return !l.Mains }
func (an *analyzer) fundamental(l joint.Line) bool { return !l.Mains && l.Order == 1 }

// avoidClipping looks for clipped peaks against the tones as fitted. Where a stretch
// without any is long enough, the fit is done again on that; otherwise the finding
// says that the record is spoilt.
func (an *analyzer) avoidClipping() error {
	used := an.used()
	figures := make([]trouble.ClipFigures, len(used.Channels))
	from, to, clipped := 0, used.Frames(), false
	clean := an.cleaned(an.anyTone)
	for ch, x := range used.Channels {
		tone, clear := an.linesAlone(ch, an.fundamental), clean[ch]
		if an.turn != nil {
			x, clear, tone = an.asPlayed(ch), an.beside(clear), an.beside(tone)
		}
		figures[ch] = trouble.FindClipping(x, clear, tone, an.sig.Bits)
		if figures[ch].Clipped {
			clipped = true
			from, to = max(from, figures[ch].SoundFirst), min(to, figures[ch].SoundEnd)
		}
	}
	if !clipped {
		return nil
	}
	sound := float64(to-from) >= enoughSoundS*an.sig.RateHz && an.turn == nil
	for ch, f := range figures {
		if f.Clipped {
			an.find(f.Finding(ch, an.span.first, an.sig.RateHz, sound))
		}
	}
	if !sound {
		return nil
	}
	an.span.first, an.span.end, an.span.margin = an.span.first+from, an.span.first+to, 0
	return an.fit()
}

// linesAlone returns lines of a channel as fitted, sample by sample.
func (an *analyzer) linesAlone(ch int, keep func(joint.Line) bool) []float64 {
	return an.linesOver(ch, 0, an.joint.Frames, keep)
}

// linesOver returns them from frame first up to end, counted from the first that was
// fitted.
func (an *analyzer) linesOver(ch, first, end int, keep func(joint.Line) bool) []float64 {
	f := an.joint
	out := make([]float64, end-first)
	for l, ln := range f.Model.Lines {
		if !keep(ln) {
			continue
		}
		turns := f.Model.FreqHz(ln) / an.sig.RateHz
		for at := 0; at < len(out); at += joint.LongestBlock {
			ph := turns * (float64(first+at) - float64(f.Frames-1)/2)
			s, c := math.Sincos(2 * math.Pi * (ph - math.Round(ph)))
			addTurning(out[at:min(at+joint.LongestBlock, len(out))], f.Amp[ch][l]*complex(c, s), turns)
		}
	}
	return out
}

// addTurning adds Re(a exp(j2π turns k)) to x.
func addTurning(x []float64, a complex128, turns float64) {
	s, c := math.Sincos(2 * math.Pi * turns)
	step := complex(c, s)
	for k := range x {
		x[k] += real(a)
		a *= step
	}
}

func (an *analyzer) has(code finding.Code) bool {
	return slices.ContainsFunc(an.out.Findings, func(f finding.Finding) bool { return f.Code == code })
}

// strongestFit returns the tone with the largest phasor, nil where none is detected.
func (an *analyzer) strongestFit() *ToneFit {
	var best *ToneFit
	top := 0.0
	for i := range an.out.Tones {
		for ch, p := range an.out.Tones[i].Phasors {
			if a := num.SqAbs(p); an.out.Tones[i].Detected[ch] && a > top {
				best, top = &an.out.Tones[i], a
			}
		}
	}
	return best
}
