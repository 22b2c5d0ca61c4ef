package jigcheck

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/finding"
)

// exam carries one examination from figure to figure.
type exam struct {
	*Evidence
	out    Report
	inputs map[float64]inputs // by nominal frequency
	freqs  []float64          // of the multitone steps
	drift  float64            // of the ratio of the inputs from recording to recording, each axis
	auto   bool               // a gain follows the signal

	sourceOhm float64 // 0 where it was not measured
}

// Examine judges a jig by what there is of evidence. What is missing is left out and
// said in the notes and in Looked.
//
// Errors: no jig, no recordings, a recording that was not analysed or whose resistor
// has no value.
func Examine(e Evidence) (*Report, error) {
	if err := e.check(); err != nil {
		return nil, err
	}
	x := &exam{Evidence: &e, inputs: map[float64]inputs{}, drift: e.Jig.Drift}
	x.out.Model.Schema = VerifiedSchema
	x.look()
	for _, step := range []Step{Joined, Load, Open, Short, Drift} {
		if x.freqs = e.frequencies(step); len(x.freqs) > 0 {
			break
		}
	}
	x.wiring() // first: the rest is told of inputs that are not exchanged
	x.levels() // an automatic gain spoils what follows
	x.stream()
	if !x.oneSignal() {
		x.drifts()
		x.channels()
		x.network()
		x.insertions()
		x.checkParts()
	}
	x.idle()
	x.compare()
	x.rank()
	return &x.out, nil
}

// look counts the recordings of each step and collects what they said by themselves.
func (x *exam) look() {
	for _, about := range Steps() {
		l := Looked{Step: about.Step, For: about.For, Usable: len(x.of(about.Step))}
		for _, r := range x.Recordings {
			if r.Step == about.Step {
				l.Recordings++
				x.gather(&r)
			}
		}
		x.out.Looked = append(x.out.Looked, l)
	}
}

// expected lists findings that are no news in a step: it brings them about, or a
// figure of ours tells more.
var expected = map[Step][]finding.Code{
	Joined:      {finding.Mono},
	Terminated1: {finding.NoSignal, finding.Noise},
	Terminated2: {finding.NoSignal, finding.Noise},
	Open:        {finding.NoSignal, finding.Noise, finding.Mono},
	Short:       {finding.NoSignal, finding.Noise, finding.Mono},
	Levels:      {finding.NoSignal, finding.Noise, finding.Clipped, finding.Nonlinear},
}

// judged are the codes of records that Examine itself turns into faults.
var judged = []finding.Code{finding.Hum, finding.Clock, finding.Dropout, finding.Resampled, finding.AutoGain, finding.Unsettled}

func (x *exam) gather(r *Recording) {
	if r.Analysis == nil {
		return
	}
	for _, f := range r.Analysis.Findings {
		if slices.Contains(judged, f.Code) || slices.Contains(expected[r.Step], f.Code) || f.Severity == finding.Note {
			continue
		}
		f.File = r.File
		x.out.Findings = append(x.out.Findings, f)
	}
}

// rank puts the gravest first: what spoils other figures, then the rest as found.
func (x *exam) rank() {
	first := []finding.Code{finding.Mono, finding.Swapped, finding.AutoGain, finding.Clipped, finding.Resampled, finding.Dropout}
	place := func(f Fault) int {
		if i := slices.Index(first, f.Code); i >= 0 {
			return i
		}
		return len(first)
	}
	slices.SortStableFunc(x.out.Faults, func(a, b Fault) int { return place(a) - place(b) })
}

func sorted(x []float64) []float64 {
	slices.Sort(x)
	return slices.Compact(x)
}

// nearest returns the entry of a list nearest to f in ratio; 0 for an empty list.
func nearest(list []float64, f float64) float64 {
	best := 0.0
	for _, v := range list {
		if best == 0 || math.Abs(math.Log(v/f)) < math.Abs(math.Log(best/f)) {
			best = v
		}
	}
	return best
}

func median(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	switch n := len(s); {
	case n == 0:
		return math.NaN()
	case n%2 == 1:
		return s[n/2]
	default:
		return (s[n/2-1] + s[n/2]) / 2
	}
}

// spread returns mean and standard deviation.
func spread(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / math.Max(1, float64(len(x)-1)))
}
