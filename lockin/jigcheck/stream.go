package jigcheck

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/record"
)

// stream tells of clocks, lost samples, conversion of the rate and latency.
func (x *exam) stream() {
	x.clock()
	x.resampled()
	x.dropouts()
	x.latency()
}

// clock judges play and record clock by the recording that tells best.
func (x *exam) clock() {
	var best *record.Analysis
	for i := range x.Recordings {
		a := x.Recordings[i].Analysis
		if a != nil && len(a.Tones) > 0 && a.ClockUPPM > 0 && (best == nil || a.ClockUPPM < best.ClockUPPM) {
			best = a
		}
	}
	if best == nil {
		x.note("Play and record clock were not compared: it is not said where the tones were played.")
		return
	}
	q := normal(best.ClockPPM, best.ClockUPPM)
	x.figure("stream", "record clock against play clock", 0, 0, q, "ppm")
	if beyond(q, ordinaryClock) {
		x.fault(Fault{Code: finding.Clock, Value: q, Unit: "ppm", Limit: ordinaryClock,
			Detail: fmt.Sprintf("the record clock is %s ppm %s than the play clock (95 %%: %s)", figures(math.Abs(q.Value), q.U), faster(q.Value), interval(q, 1, "ppm")),
			Advice: "play and record through one device; readings are corrected for it, but which of the clocks is right nobody knows, and C and L take half of it"})
	}
}

func faster(v float64) string {
	if v < 0 {
		return "slower"
	}
	return "faster"
}

// resampled tells of a conversion of the rate, with the rate before where it shows.
// Recordings with one tone are believed rather than those with several: what a curved
// input makes of several tones may look like a converted rate.
func (x *exam) resampled() {
	singles := append(x.of(Long), x.of(Levels)...)
	if len(singles) == 0 {
		for i := range x.Recordings {
			singles = append(singles, &x.Recordings[i])
		}
	}
	var first *finding.Finding
	from := 0.0
	for _, r := range singles {
		if r.Analysis == nil {
			continue
		}
		for _, f := range r.Analysis.Findings {
			if f.Code != finding.Resampled {
				continue
			}
			hz := fromHz(f)
			if first == nil || from == 0 && hz > 0 {
				first, from = &f, hz
			}
		}
	}
	if first == nil {
		return
	}
	fault := Fault{Code: finding.Resampled, Unit: "Hz", Detail: first.Detail, Advice: first.Advice,
		Value: quantity{Value: math.NaN(), U: math.NaN(), Low: math.NaN(), High: math.NaN()}}
	if from > 0 {
		fault.Value = quantity{Value: from, U: 2e-4 / math.Sqrt(3) * from, Low: from * (1 - 2e-4), High: from * (1 + 2e-4)}
	}
	x.fault(fault)
}

// fromHz is the rate that a finding of a conversion names; 0 for none.
func fromHz(f finding.Finding) (hz float64) {
	for _, before := range []string{"from ", "between this rate and "} {
		if _, rest, ok := strings.Cut(f.Detail, before); ok {
			if _, err := fmt.Sscanf(rest, "%g Hz", &hz); err == nil {
				return hz
			}
		}
	}
	return 0
}

// dropouts counts the breaks of the longer runs, and says so of other recordings where
// no longer run has any.
func (x *exam) dropouts() {
	long := x.of(Long)
	seconds, breaks := 0.0, []finding.Finding(nil)
	for _, r := range long {
		seconds += float64(r.Analysis.Frames) / r.Analysis.RateHz
		breaks = append(breaks, dropoutsOf(r)...)
	}
	if len(long) > 0 {
		x.figure("stream", fmt.Sprintf("breaks in %.3g s", seconds), 0, 0, quantity{Value: float64(len(breaks)), Low: float64(len(breaks)), High: float64(len(breaks))}, "")
	} else {
		x.note("Lost samples were looked for in the other recordings alone: the step long would tell of rare ones.")
	}
	where := fmt.Sprintf("in a run of %.3g s", seconds)
	if len(breaks) == 0 && !x.auto { // a gain that moves looks like breaks
		where = "among all recordings"
		for i := range x.Recordings {
			if r := &x.Recordings[i]; r.Analysis != nil && r.Step != Long {
				breaks = append(breaks, dropoutsOf(r)...)
			}
		}
	}
	if len(breaks) == 0 {
		return
	}
	var list []string
	for _, f := range breaks[:min(3, len(breaks))] {
		list = append(list, f.Detail)
	}
	n := float64(len(breaks))
	x.fault(Fault{Code: finding.Dropout, Severity: finding.Invalid, Value: quantity{Value: n, Low: n, High: n}, Unit: "breaks",
		Detail: fmt.Sprintf("%s %s: %s", breakCount(len(breaks)), where, strings.Join(list, "; ")),
		Advice: "close what loads the computer or the bus, ask for longer buffers, try another port; good parts of a record are used all the same"})
}

func breakCount(n int) string {
	if n == 1 {
		return "1 break"
	}
	return fmt.Sprintf("%d breaks", n)
}

func dropoutsOf(r *Recording) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(r.Analysis.Findings), func(f finding.Finding) bool { return f.Code != finding.Dropout })
}

// latency is when half of the level has come, less when it was played.
func (x *exam) latency() {
	for _, r := range x.of(Long) {
		if at, ok := onset(r.Signal); ok && r.LeadS > 0 {
			q := quantity{Value: at - r.LeadS, U: 1e-3, Low: at - r.LeadS - 2e-3, High: at - r.LeadS + 2e-3}
			x.figure("stream", "latency from output to input", 0, 0, q, "s")
			return
		}
	}
}

// onset is the time at which the rms over 2 ms reaches half of what it is in the middle
// of the record.
func onset(s record.Signal) (seconds float64, ok bool) {
	n := s.Frames()
	block := int(s.RateHz / 500)
	if len(s.Channels) < 2 || block < 4 || n < 20*block {
		return 0, false
	}
	power := func(from int) float64 {
		sum := 0.0
		for _, c := range s.Channels {
			mean := 0.0
			for _, v := range c[from : from+block] {
				mean += v / float64(block)
			}
			for _, v := range c[from : from+block] {
				sum += sq(v - mean)
			}
		}
		return sum
	}
	var middle []float64
	for k := range 9 {
		middle = append(middle, power(n/2+(k-4)*block))
	}
	whole := median(middle)
	for from := 0; from+block <= n; from += max(1, block/8) {
		if power(from) > whole/4 {
			return (float64(from) + float64(block)/2) / s.RateHz, from > 0
		}
	}
	return 0, false
}
