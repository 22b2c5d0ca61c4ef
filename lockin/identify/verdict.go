package identify

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// verdict is the family that the figures of one circuit stand for.
type verdict struct {
	family  Family
	reasons []string
	doubts  int // 0 none; each takes one step of confidence
	// element is the unknown that holds the value; empty where it is derived at valueHz.
	element string
	across  string // capacitance across, or inductance in series, which resonates with the value
}

func (v *verdict) because(format string, args ...any) {
	v.reasons = append(v.reasons, fmt.Sprintf(format, args...))
}

func (v *verdict) doubt(steps int, format string, args ...any) {
	v.doubts += steps
	v.because(format, args...)
}

// near takes confidence away where a figure lies within a third of a limit.
func (v *verdict) near(what string, value, limit float64) {
	if r := math.Abs(math.Log(value / limit)); r < math.Log(1.33) {
		v.doubt(2, "That %s of %s lies close to the limit of %s between families.", what, figure(value), figure(limit))
	}
}

// decide tells the family from the circuit and its values.
func decide(v *view) *verdict {
	switch v.Name {
	case "R", "R + Ls", "R // Cp", "(R + Ls) // Cp":
		return decideResistor(v)
	case "Re + Le + Res // Les // Ces", "Re + K + Res // Les // Ces", "Re + Le + L2 // R2 + Res // Les // Ces":
		return decideLoudspeaker(v)
	case "Cp // (Rm + Lm + Cm)", "Rs + L + C // Rp", "Rs + L // C // Rp":
		return decideResonator(v)
	case "R1 + L // R2":
		return decideMixed(v)
	}
	if v.index("C") >= 0 || v.index("Q") >= 0 || v.index("T") >= 0 {
		return decideCapacitor(v)
	}
	return decideCoil(v)
}

// figure writes a plain number to three digits. What is smaller than any of the limits
// by far is of no size that a sweep could show.
func figure(x float64) string {
	if x < smallest {
		return "less than 0.0001"
	}
	return uncertain.Format(digits(x), 0, "")
}

const smallest = 1e-4

// with writes a value to three digits with its unit.
func with(x float64, unit string) string { return uncertain.Format(digits(x), 0, unit) }

func digits(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	p := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*p) / p
}
