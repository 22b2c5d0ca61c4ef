package record

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/spectrum"
)

// Limits of the findings about frequency.
const (
	clockTellPPM = 5    // a clock difference below this is not worth a word
	clockWarnPPM = 300  // beyond this it is no longer two clocks of ordinary quality
	clockVoidPPM = 2000 // beyond this the tone is another one
	humTellShare = 1e-4 // of the strongest tone
)

func (an *analyzer) report() {
	an.reportClock()
	an.reportMissing()
	an.reportHum()
}

// placedTone is a tone with its place, as it should be and as it is.
type placedTone struct {
	nominalHz, freqHz, freqUHz float64
	there                      bool
}

// reportClock says how far the tones are from where they should be.
func (an *analyzer) reportClock() {
	if len(an.cfg.TonesHz) == 0 {
		return
	}
	var places []placedTone
	for _, t := range an.out.Tones {
		places = append(places, placedTone{t.NominalHz, t.FreqHz, t.FreqUHz, anyTrue(t.Detected)})
	}
	an.out.Findings = append(an.out.Findings, clockFindings(places)...)
}

// clockFindings tells of tones at other frequencies than they should have, and once of
// two clocks that differ by as much as clocks do. A ratio of two usual rates is named.
func clockFindings(tones []placedTone) []finding.Finding {
	var out []finding.Finding
	told := false
	for _, t := range tones {
		ppm := (t.freqHz/t.nominalHz - 1) * 1e6
		u := t.freqUHz / t.nominalHz * 1e6
		off := math.Abs(ppm)
		switch {
		case !t.there:
		case off > clockWarnPPM && off > 3*u:
			severity := finding.Warning
			if off > clockVoidPPM {
				severity = finding.Invalid
			}
			out = append(out, finding.Finding{Code: finding.OffFrequency, Severity: severity, FreqHz: t.nominalHz,
				Detail: fmt.Sprintf("the tone is at %.3f Hz, not %g: %+.0f ppm", t.freqHz, t.nominalHz, ppm),
				Advice: "play the file at the rate it was made for, or name the frequency that was played" + ratesOf(t.freqHz/t.nominalHz)})
		case off > clockTellPPM && off > 4*u && !told:
			told = true
			out = append(out, finding.Finding{Code: finding.Clock, Severity: finding.Note,
				Detail: fmt.Sprintf("play and record clocks are %.1f ppm apart; corrected", off),
				Advice: "nothing to do", Brief: fmt.Sprintf("clock %.1f ppm", off)})
		}
	}
	return out
}

// ratesOf names two usual rates of which one was taken for the other, "" where the ratio
// of frequencies is none of those.
func ratesOf(ratio float64) string {
	rates := []float64{44100, 48000, 88200, 96000, 176400, 192000, 32000, 22050, 16000}
	for _, made := range rates {
		for _, played := range rates {
			if made != played && math.Abs(ratio*made/played-1) < clockWarnPPM*1e-6 {
				return fmt.Sprintf("; it is off as from %.0f frames per second taken for %.0f", made, played)
			}
		}
	}
	return ""
}

// reportMissing names tones that no channel has.
func (an *analyzer) reportMissing() {
	for _, t := range an.out.Tones {
		if !anyTrue(t.Detected) {
			an.find(an.noTone(t.NominalHz))
		}
	}
}

// reportNoTones is for a record in which no tone at all was found.
func (an *analyzer) reportNoTones() {
	if an.cfg.Stepped {
		return
	}
	for _, f := range an.cfg.TonesHz {
		an.find(an.noTone(f))
	}
	if len(an.cfg.TonesHz) == 0 {
		an.find(noSignal(0))
	}
}

// leastPeriods of a tone must stand for its place and level to be told from what begins,
// ends and hums around it.
const leastPeriods = 10

// noTone says that a tone was not found, and where there is too little of it to be
// found, how long it must stand.
func (an *analyzer) noTone(hz float64) finding.Finding {
	f := noSignal(hz)
	stands := an.standsFor(hz)
	if stands*hz >= leastPeriods {
		return f
	}
	f.Detail = fmt.Sprintf("no tone found at %g Hz: what there may be of it lasts %.2g s, %.1f periods", hz, stands, stands*hz)
	f.Advice = fmt.Sprintf("let it stand for %d periods or more: make the recording %.1g s longer; then check levels and inputs", leastPeriods, math.Ceil(10*(leastPeriods/hz-stands)+1)/10)
	return f
}

// standsFor returns how long the record is loud, in seconds: half as loud as it is at
// most, in windows of a period of the tone.
func (an *analyzer) standsFor(hz float64) float64 {
	w := max(8, int(an.sig.RateHz/hz))
	var power []float64
	top := 0.0
	for at := 0; at+w <= an.sig.Frames(); at += w {
		p := 0.0
		for _, x := range an.sig.Channels {
			p += num.MeanSquare(x[at : at+w])
		}
		power, top = append(power, p), math.Max(top, p)
	}
	loud := 0
	for _, p := range power {
		if p >= top/4 {
			loud++
		}
	}
	return float64(loud*w) / an.sig.RateHz
}

func noSignal(freqHz float64) finding.Finding {
	what := "no tone found"
	if freqHz != 0 {
		what = fmt.Sprintf("no tone found at %g Hz", freqHz)
	}
	return finding.Finding{Code: finding.NoSignal, Severity: finding.Invalid, FreqHz: freqHz,
		Detail: what + ": nothing rises above noise and hum in any channel",
		Advice: "check that the tone plays, the output level, and that the right inputs are recorded"}
}

// reportHum names the mains lines that were taken out, those under turned tones first.
func (an *analyzer) reportHum() {
	var parts []string
	lines := slices.Clone(an.out.Mains.Lines)
	slices.SortStableFunc(lines, func(a, b LineFit) int { return cmp.Compare(b2i(an.underTurned(b)), b2i(an.underTurned(a))) })
	loudest := 0.0
	for _, l := range lines {
		worst, ch := 0.0, 0
		for c, a := range l.Amplitude {
			if a > worst {
				worst, ch = a, c
			}
		}
		where := ""
		if an.underTurned(l) {
			where = " under the tone"
		}
		if (worst > humTellShare*an.strongestTone() || where != "") && len(parts) < 4 {
			loudest = math.Max(loudest, worst)
			parts = append(parts, fmt.Sprintf("%.1f Hz%s at %.0f dBFS (channel %d)", l.FreqHz, where, spectrum.AmplitudeDB(worst), ch+1))
		}
	}
	if len(parts) == 0 {
		return
	}
	an.find(finding.Finding{Code: finding.Hum, Severity: finding.Note,
		Detail: "mains lines removed: " + strings.Join(parts, ", "),
		Advice: "shorter leads, one ground point and distance from transformers lower them",
		Brief:  strings.Replace(fmt.Sprintf("hum %.0f dBFS", spectrum.AmplitudeDB(loudest)), "-", "\u2212", 1)})
}

// underTurned says that a mains line that is there stands under a tone whose sign turns.
func (an *analyzer) underTurned(l LineFit) bool {
	if an.turn == nil || !anyTrue(l.Detected) {
		return false
	}
	for _, t := range an.out.Tones {
		if math.Abs(t.FreqHz-l.FreqHz) < 1.5*an.bins.stepHz {
			return true
		}
	}
	return false
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (an *analyzer) strongestTone() float64 {
	s := 0.0
	for _, t := range an.out.Tones {
		for _, p := range t.Phasors {
			s = math.Max(s, math.Sqrt(num.SqAbs(p)))
		}
	}
	return s
}

func anyTrue(list []bool) bool {
	for _, b := range list {
		if b {
			return true
		}
	}
	return false
}

// percent writes a share with two digits, small ones in parts per million.
func percent(share float64) string {
	switch v := share * 1e6; {
	case v < 0.01:
		return "less than 0.01 ppm"
	case v < 10:
		return fmt.Sprintf("%.2g ppm", v)
	case v < 100:
		return fmt.Sprintf("%.0f ppm", v)
	}
	return fmt.Sprintf("%.2g %%", share*100)
}
