package impedance

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// Circuit names one of the two equivalents.
type Circuit string

// The equivalents that may fit a part.
const (
	NoCircuit        Circuit = "" // nothing was heard
	SeriesCircuit    Circuit = "series"
	ParallelCircuit  Circuit = "parallel"
	EitherEquivalent Circuit = "either"
)

// Reason says why an equivalent fits, as a half-sentence for people.
type Reason string

// The reasons, in the order in which they are tried.
const (
	ReasonOpen        Reason = "nothing passes but what lies across the part"
	ReasonShort       Reason = "nothing is left but what lies in series"
	ReasonAcross      Reason = "a resistor with some capacitance, which lies across it"
	ReasonInSeries    Reason = "a resistor with some inductance, which lies in series with it"
	ReasonAgree       Reason = "series and parallel value agree within their uncertainty"
	ReasonLowModulus  Reason = "|Z| is low, so that what lies in series counts most (common practice, no source)"
	ReasonHighModulus Reason = "|Z| is high, so that what lies across counts most (common practice, no source)"
	ReasonBetween     Reason = "|Z| is neither low nor high; one frequency cannot tell where the loss lies"
)

// Fitting says which equivalent describes a part best, and why.
type Fitting struct {
	Circuit Circuit
	Reason  Reason
}

// fit chooses the equivalent. Physical reasons go before habits: the
// capacitance of a resistor is between its ends and its inductance in its wire
// (but a resistor of few ohm that reads as capacitive is a large capacitor, and
// one of megohms that reads as inductive a large inductor), and with little loss
// both equivalents are the same.
func fit(r Reading, cfg Config) Fitting {
	resistor, m := r.Dominance.Kind == Resistor, r.Modulus.Value
	switch {
	case r.State == NoSignal:
		return Fitting{}
	case r.State == Open:
		return Fitting{ParallelCircuit, ReasonOpen}
	case r.State == Short:
		return Fitting{SeriesCircuit, ReasonShort}
	case resistor && finite(r.Parallel.C.Value) && m >= cfg.SeriesBelowOhm:
		return Fitting{ParallelCircuit, ReasonAcross}
	case resistor && finite(r.Series.L.Value) && m <= cfg.ParallelAboveOhm:
		return Fitting{SeriesCircuit, ReasonInSeries}
	case agree(r):
		return Fitting{EitherEquivalent, ReasonAgree}
	case m < cfg.SeriesBelowOhm:
		return Fitting{SeriesCircuit, ReasonLowModulus}
	case m > cfg.ParallelAboveOhm:
		return Fitting{ParallelCircuit, ReasonHighModulus}
	}
	return Fitting{EitherEquivalent, ReasonBetween}
}

// agree reports whether the series value of the dominant element lies within
// the interval of the parallel one.
func agree(r Reading) bool {
	switch r.Dominance.Kind {
	case Capacitor:
		return within(r.Series.C, r.Parallel.C)
	case Inductor:
		return within(r.Series.L, r.Parallel.L)
	case Resistor:
		return within(r.Series.R, r.Parallel.R)
	}
	return false
}

// within reports whether the value of a lies in the interval of b, both known.
func within(a, b uncertain.Quantity) bool {
	return finite(a.Value) && finite(b.Value) && a.Value >= b.Low && a.Value <= b.High
}

// Hint is advice on how to learn more of a part, as a sentence for people.
type Hint string

// The hints.
const (
	NoHint          Hint = ""
	LowerFrequency  Hint = "mostly resistive here: a lower frequency tells more of its C or L"
	HigherFrequency Hint = "mostly resistive here: a higher frequency tells more of its C or L"
)

// mostlyResistive is the part of |Z| below which X is called small (common
// practice, no source): an error of phase there moves C or L three times as much
// as in a part without loss.
const mostlyResistive = 1.0 / 3

// hint says where C or L of a mostly resistive part is seen better: the
// reactance in series with R grows with frequency for L and shrinks for C, and
// across R it is the other way round.
func hint(r Reading, cfg Config) Hint {
	capacitive, inductive := finite(r.Series.C.Value), finite(r.Series.L.Value)
	if !(capacitive || inductive) || math.Abs(r.Im.Value) >= mostlyResistive*r.Modulus.Value {
		return NoHint
	}
	across := r.Fitting.Circuit == ParallelCircuit || (r.Fitting.Circuit == EitherEquivalent && r.Modulus.Value > cfg.ParallelAboveOhm)
	if capacitive != across {
		return LowerFrequency
	}
	return HigherFrequency
}
