package jigcheck

import (
	"fmt"
	"math"
	"strconv"

	"example.org/wheatear/lockin/uncertain"
)

type quantity = uncertain.Quantity

// abs turns a quantity of either sign into its magnitude.
func abs(q quantity) quantity {
	if q.Value < 0 {
		return quantity{Value: -q.Value, U: q.U, Low: -q.High, High: -q.Low}
	}
	return q
}

// figures writes a value with as many digits as its uncertainty carries, five at most.
func figures(value, u float64) string {
	digits := 5
	if u > 0 && value != 0 {
		digits = min(digits, max(2, 2+int(math.Floor(math.Log10(math.Abs(value)/u)))))
	}
	text, err := strconv.ParseFloat(strconv.FormatFloat(value, 'g', digits, 64), 64)
	if err != nil {
		text = value
	}
	return strconv.FormatFloat(text, 'f', -1, 64)
}

// interval writes the 95 % interval times a scale.
func interval(q quantity, scale float64, unit string) string {
	u := q.U * scale
	text := figures(q.Low*scale, u) + " to " + figures(q.High*scale, u)
	if unit != "" {
		text += " " + unit
	}
	return text
}

// si writes a value with a prefix.
func si(value float64, unit string) string {
	if value == 0 || math.IsNaN(value) || math.IsInf(value, 0) {
		return fmt.Sprintf("%g %s", value, unit)
	}
	prefixes := []struct {
		scale float64
		name  string
	}{{1e6, "M"}, {1e3, "k"}, {1, ""}, {1e-3, "m"}, {1e-6, "µ"}, {1e-9, "n"}, {1e-12, "p"}, {1e-15, "f"}}
	for _, p := range prefixes {
		if math.Abs(value) >= 0.9995*p.scale {
			return fmt.Sprintf("%.3g %s%s", value/p.scale, p.name, unit)
		}
	}
	return fmt.Sprintf("%.3g %s", value, unit)
}
