package jigcheck

import "slices"

// Step is something to connect and record.
type Step string

// The steps, in the order in which they are best made.
const (
	Idle        Step = "idle"         // nothing is played
	Joined      Step = "joined"       // both inputs on one node
	Terminated1 Step = "terminated-1" // input 1 off the jig and closed, input 2 as always
	Terminated2 Step = "terminated-2" // the other way round
	Open        Step = "open"
	Short       Step = "short"
	Load        Step = "load"      // a resistor of known value
	Reference   Step = "reference" // another reference of known value, with a load
	Check       Step = "check"     // a known part that calibrates nothing
	Levels      Step = "levels"    // one tone, at several levels
	Long        Step = "long"      // a longer run
	Drift       Step = "drift"     // the same thing again and again
)

// About describes a step for whoever makes it.
type About struct {
	Step Step
	Do   string // what to connect
	For  string // what it tells
}

// Steps lists all steps in their order.
func Steps() []About {
	return []About{
		{Idle, "the load in, the output silent", "noise and hum of each input"},
		{Joined, "both inputs on the node that the source drives", "gain and delay between the inputs, apart from the reference"},
		{Terminated1, "input 1 off the jig, its plug closed by a short wire; the load in", "what of input 2 leaks into input 1"},
		{Terminated2, "input 2 off the jig, its plug closed by a short wire; the load in", "what of input 1 leaks into input 2"},
		{Open, "nothing between the terminals", "capacitance and conductance left, stray from insertion to insertion"},
		{Short, "the terminals joined by a short piece of thick wire", "resistance and inductance left, contact from insertion to insertion"},
		{Load, "a resistor of known value", "the reference, the source, the load by the inputs"},
		{Reference, "another resistor of known value in the place of the reference; the load in", "a wrong reference, apart from what loads it"},
		{Check, "a known part that was not used so far", "whether readings hold what they promise"},
		{Levels, "the load in, one tone from quiet to loud", "linearity, automatic gain, harmonics, clipping"},
		{Long, "the load in", "clocks, lost samples, conversion of the rate"},
		{Drift, "the load in, untouched", "drift from recording to recording, and the longest useful average"},
	}
}

// ParseStep finds a step by its name.
func ParseStep(text string) (Step, bool) {
	i := slices.IndexFunc(Steps(), func(a About) bool { return string(a.Step) == text })
	return Step(text), i >= 0
}
