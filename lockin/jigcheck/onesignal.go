package jigcheck

import (
	"fmt"
	"slices"

	"example.org/wheatear/lockin/finding"
)

// apart are the steps in which the inputs of a sound jig cannot carry one signal.
var apart = []Step{Long, Drift, Load, Check, Reference, Terminated1, Terminated2}

// oneSignal names a card that gives one signal as both inputs; there is nothing to
// compare then. One record that looks so may be chance, most of them are not.
func (x *exam) oneSignal() bool {
	alike, all := 0, 0
	for i := range x.Recordings {
		r := &x.Recordings[i]
		if r.Analysis == nil || !slices.Contains(apart, r.Step) {
			continue
		}
		all++
		if slices.ContainsFunc(r.Analysis.Findings, isMono) {
			alike++
		}
	}
	if 2*alike <= all {
		return false
	}
	x.out.Findings = slices.DeleteFunc(x.out.Findings, isMono)
	n := float64(alike)
	x.fault(Fault{Code: finding.Mono, Severity: finding.Invalid, Value: quantity{Value: n, Low: n, High: n}, Unit: "recordings",
		Detail: fmt.Sprintf("both inputs carry one signal, in %d of the %d recordings in which they cannot be alike", alike, all),
		Advice: "use a device with two inputs and a plug with three contacts, and switch off what joins the channels in the mixer of the system; with one signal every part reads as the same resistor"})
	x.note("Gain, crosstalk, reference, leads, contacts, drift and check part were not judged: with one signal in both inputs there is nothing to compare.")
	return true
}

func isMono(f finding.Finding) bool { return f.Code == finding.Mono && f.Severity == finding.Invalid }
