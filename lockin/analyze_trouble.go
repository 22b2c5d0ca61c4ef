package lockin

import "math"

// checkSamples looks at the samples one by one: finite, alive, how large.
func (an *analyzer) checkSamples() {
	first, end := 0, an.out.Frames
	for ch, x := range an.sig.Channels {
		s := examineSamples(x, an.sig.RateHz)
		an.out.Peak[ch], an.out.Silent[ch] = s.Peak, s.Silent
		first, end = max(first, s.FiniteFirst), min(end, s.FiniteEnd)
		an.out.Findings = append(an.out.Findings, s.findings(ch, an.sig.RateHz, false)...)
	}
	an.span.first, an.span.end = first, max(first, end)
	// A channel without the tone may be what an open or a short makes; whether it may
	// be dead is for those to say who know what was connected.
	if an.anyAlive() {
		for i := range an.out.Findings {
			if an.out.Findings[i].Code == NoSignal {
				an.out.Findings[i].Severity = Warning
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

// avoidClipping looks for clipped peaks against the tones as fitted. Where a stretch
// without any is long enough, the fit is done again on that; otherwise the finding
// says that the record is spoilt.
func (an *analyzer) avoidClipping() error {
	used := an.used()
	figures := make([]clipFigures, len(used.Channels))
	from, to, clipped := 0, used.Frames(), false
	for ch, x := range used.Channels {
		figures[ch] = findClipping(x, an.tonesAlone(ch), an.sig.Bits)
		if figures[ch].Clipped {
			clipped = true
			from, to = max(from, figures[ch].SoundFirst), min(to, figures[ch].SoundEnd)
		}
	}
	if !clipped {
		return nil
	}
	sound := float64(to-from) >= enoughSoundS*an.sig.RateHz
	for ch, f := range figures {
		if f.Clipped {
			an.find(f.finding(ch, an.span.first, an.sig.RateHz, sound))
		}
	}
	if !sound {
		return nil
	}
	an.span.first, an.span.end = an.span.first+from, an.span.first+to
	return an.fit()
}

// tonesAlone returns the fundamentals of a channel as fitted, sample by sample.
func (an *analyzer) tonesAlone(ch int) []float64 {
	f := an.joint
	out := make([]float64, f.frames)
	for l, ln := range f.model.lines {
		if ln.mains || ln.order != 1 {
			continue
		}
		turns := f.model.freqHz(ln) / an.sig.RateHz
		for at := 0; at < len(out); at += longestBlock {
			ph := turns * (float64(at) - float64(len(out)-1)/2)
			s, c := math.Sincos(2 * math.Pi * (ph - math.Round(ph)))
			addTurning(out[at:min(at+longestBlock, len(out))], f.amp[ch][l]*complex(c, s), turns)
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

// judgeMono compares two channels.
func (an *analyzer) judgeMono() {
	used := an.used().Channels
	if len(used) != 2 {
		return
	}
	if m := findMono(used[0], used[1], an.joint.residual[0], an.joint.residual[1]); m.Mono {
		an.find(m.finding())
	}
}
