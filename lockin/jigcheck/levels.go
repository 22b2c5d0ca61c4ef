package jigcheck

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/lockin/finding"
)

// rung is one level of the step levels.
type rung struct {
	played   float64
	heard    [2]float64 // peak of the tone re full scale
	gainU    [2]float64 // relative
	harmonic [2][]complex128
	hU       [2]float64
	clipped  bool
	freqHz   float64
}

// levels tells how level and harmonics follow what is played.
func (x *exam) levels() {
	rungs := x.rungs()
	if len(rungs) == 0 {
		x.note("Linearity over level, automatic gain and harmonics were not measured: the step levels would tell.")
		return
	}
	for ch := range 2 {
		x.reportLevels(rungs, ch)
	}
	if x.judgeGainControl(rungs); !x.auto {
		x.distortion(rungs)
		x.clipping(rungs)
	}
}

// rungs are sorted by what was played.
func (x *exam) rungs() []rung {
	var out []rung
	for _, r := range x.of(Levels) {
		if len(r.Analysis.Tones) == 0 {
			continue
		}
		t := r.Analysis.Tones[0]
		h, ok := r.at(t.NominalHz)
		if !ok {
			continue
		}
		g := rung{played: playedAt(r.Played, t.NominalHz), freqHz: t.NominalHz}
		for ch := range 2 {
			g.heard[ch] = cmplx.Abs(h.h[ch])
			g.gainU[ch] = h.u[ch] / math.Max(g.heard[ch], 1e-300)
			if ch < len(t.Harmonics) && ch < len(t.HarmonicU) {
				g.harmonic[ch], g.hU[ch] = t.Harmonics[ch], t.HarmonicU[ch]
			}
		}
		g.clipped = slices.ContainsFunc(r.Analysis.Findings, func(f finding.Finding) bool { return f.Code == finding.Clipped })
		out = append(out, g)
	}
	slices.SortFunc(out, func(a, b rung) int {
		switch {
		case a.played < b.played:
			return -1
		case a.played > b.played:
			return 1
		}
		return 0
	})
	return out
}

func (x *exam) reportLevels(rungs []rung, ch int) {
	for _, g := range rungs {
		if g.played > 0 && g.gainU[ch] < 0.1 {
			x.out.Figures = append(x.out.Figures, Figure{Topic: "levels", Name: "gain", Channel: ch + 1, FreqHz: g.freqHz, Played: g.played,
				Value: normal(decibels(g.heard[ch]/g.played), relativeDB(g.gainU[ch])), Unit: "dB"})
		}
	}
}

// strong is the input that hears more.
func strong(rungs []rung) int {
	top := rungs[len(rungs)-1]
	if top.heard[1] > top.heard[0] {
		return 1
	}
	return 0
}

// judgeGainControl looks for a gain that follows the level, among the levels that are
// 10 dB and more below the highest: what happens above may be clipping.
func (x *exam) judgeGainControl(rungs []rung) {
	ch := strong(rungs)
	var low []rung
	for _, g := range rungs {
		if g.played > 0 && !g.clipped && g.gainU[ch] < 0.03 && g.played < 0.32*rungs[len(rungs)-1].played {
			low = append(low, g)
		}
	}
	if len(low) < 2 {
		return
	}
	a, b := low[0], low[len(low)-1]
	change := decibels(b.heard[ch] / b.played / (a.heard[ch] / a.played))
	q := normal(change, relativeDB(math.Hypot(a.gainU[ch], b.gainU[ch])))
	x.figure("levels", fmt.Sprintf("change of gain from %.0f to %.0f dBFS", decibels(a.played), decibels(b.played)), ch+1, a.freqHz, q, "dB")
	if !beyond(q, ordinaryLevelling) {
		return
	}
	x.auto = true
	top := rungs[len(rungs)-1]
	detail := fmt.Sprintf("a tone played %.1f dB louder is heard %.2f dB louder: the gain changes by %+.2f dB with the level (95 %%: %s)",
		decibels(b.played/a.played), decibels(b.heard[ch]/a.heard[ch]), q.Value, interval(q, 1, "dB"))
	if math.Abs(decibels(top.heard[ch]/b.heard[ch])) < 0.5*decibels(top.played/b.played) {
		detail += fmt.Sprintf("; peaks are brought to %.3g of full scale (%.1f dBFS)", top.heard[ch], decibels(top.heard[ch]))
	}
	x.fault(Fault{Code: finding.AutoGain, Severity: finding.Invalid, Channel: ch + 1, FreqHz: a.freqHz, Value: q, Unit: "dB", Limit: ordinaryLevelling,
		Detail: detail,
		Advice: "switch off automatic gain, noise suppression and sound enhancements of the input; what was measured beside it here is not to be relied on"})
}

// distorted is a harmonic at some level.
type distorted struct {
	ch, order int
	ratio, u  float64
	heard     float64
	played    float64
}

// distortion judges the harmonics at the highest level that is not clipped.
func (x *exam) distortion(rungs []rung) {
	var worst distorted
	for _, g := range rungs {
		if g.clipped || g.played < 0.5*highestClean(rungs) {
			continue
		}
		for ch := range 2 {
			for k, h := range g.harmonic[ch] {
				d := distorted{ch, k + 2, cmplx.Abs(h) / g.heard[ch], g.hU[ch] / g.heard[ch], g.heard[ch], g.played}
				if g.heard[ch] > 0 && d.ratio-widths*d.u > worst.ratio-widths*worst.u {
					worst = d
				}
			}
		}
	}
	if worst.order == 0 {
		return
	}
	q := normal(worst.ratio, worst.u)
	x.figure("levels", fmt.Sprintf("harmonic %d of the tone, at the most", worst.order), worst.ch+1, rungs[0].freqHz, q, "")
	if !beyond(q, ordinaryHarmonic) {
		return
	}
	db := normal(decibels(worst.ratio), relativeDB(worst.u/worst.ratio))
	detail := fmt.Sprintf("%s harmonic at %.1f dB of the tone, with %.1f dBFS played and %.1f dBFS heard",
		ordinal(worst.order), db.Value, decibels(worst.played), decibels(worst.heard))
	if full, ok := atFullScale(rungs, worst); ok {
		detail += fmt.Sprintf("; it grows as a cubic law has it, to %.1f dB at full scale", full)
		db = normal(full, db.U)
	}
	x.fault(Fault{Code: Distortion, Channel: worst.ch + 1, FreqHz: rungs[0].freqHz, Value: db, Unit: "dB", Limit: decibels(ordinaryHarmonic),
		Detail: detail + x.whose(rungs, worst),
		Advice: "play more quietly, or turn the volume of the output down and the input up; readings of linear parts do not suffer, the search for parts that distort does"})
}

func ordinal(n int) string {
	names := []string{"", "", "second", "third", "fourth", "fifth"}
	if n < len(names) {
		return names[n]
	}
	return fmt.Sprintf("%dth", n)
}

// highestClean is the highest level that was not clipped.
func highestClean(rungs []rung) float64 {
	top := 0.0
	for _, g := range rungs {
		if !g.clipped {
			top = math.Max(top, g.played)
		}
	}
	return top
}

// atFullScale carries the third harmonic on to a tone of full scale, in decibels, where
// two levels agree that it grows with the square of the level.
func atFullScale(rungs []rung, d distorted) (db float64, ok bool) {
	if d.order != 3 {
		return 0, false
	}
	for _, g := range rungs {
		if len(g.harmonic[d.ch]) < 2 || g.heard[d.ch] > 0.8*d.heard || g.clipped {
			continue
		}
		h := cmplx.Abs(g.harmonic[d.ch][1]) / g.heard[d.ch]
		u := g.hU[d.ch] / g.heard[d.ch]
		want := d.ratio * sq(g.heard[d.ch]/d.heard)
		if h > 10*u && math.Abs(h-want) < widths*u+0.05*want {
			return decibels(d.ratio / sq(d.heard)), true
		}
	}
	return 0, false
}

// whose tells whether the source or the input bends the sine: what the source plays
// both inputs hear alike.
func (x *exam) whose(rungs []rung, d distorted) string {
	for _, g := range rungs {
		other := 1 - d.ch
		if g.heard[d.ch] != d.heard || len(g.harmonic[other]) < d.order-1 || g.heard[other] == 0 {
			continue
		}
		o, u := cmplx.Abs(g.harmonic[other][d.order-2])/g.heard[other], g.hU[other]/g.heard[other]
		if math.Abs(o-d.ratio) < widths*math.Hypot(u, d.u)+0.05*d.ratio {
			return "; both inputs hear it alike, so it is played: the output or its amplifier, or the load"
		}
		// Inputs that bend alike do so each by its own level.
		own := d.ratio * sq(g.heard[other]/d.heard)
		if d.order == 3 && math.Abs(o-own) < widths*u+0.05*own {
			return "; each input bends it by its own level, both alike"
		}
		return fmt.Sprintf("; the other input hears %.1f dB, so it arises in input %d", decibels(math.Max(o, u)), d.ch+1)
	}
	return ""
}

// clipping says from where on peaks are flat.
func (x *exam) clipping(rungs []rung) {
	for _, g := range rungs {
		if g.clipped {
			ch := strong(rungs)
			x.figure("levels", "peaks are flat from here on", ch+1, g.freqHz, normal(decibels(g.heard[ch]), 0), "dBFS")
			x.judgeClipping(g, ch)
			return
		}
	}
	top := rungs[len(rungs)-1]
	x.figure("levels", "no flat peaks up to", strong(rungs)+1, top.freqHz, normal(decibels(top.heard[strong(rungs)]), 0), "dBFS")
}

// judgeClipping names inputs that are overdriven by what measurements play.
func (x *exam) judgeClipping(g rung, ch int) {
	const rounding = 1.001
	if g.played <= 0 || g.played > x.Peak*rounding {
		return
	}
	x.fault(Fault{Code: finding.Clipped, Channel: ch + 1, FreqHz: g.freqHz, Value: normal(decibels(g.played), 0), Unit: "dBFS", Limit: decibels(x.Peak),
		Detail: fmt.Sprintf("a tone played at %.1f dBFS is heard with flat peaks at %.1f dBFS already, and measurements play up to %.1f dBFS",
			decibels(g.played), decibels(g.heard[ch]), decibels(x.Peak)),
		Advice: "turn the volume of the input down, or lower the level in the jig file; what else is told here was recorded more softly"})
}
