package export

import (
	"io"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/touchstone"
)

// Touchstone writes the points of a sweep that can be trusted, by rising frequency. What
// is left out is in comments.
func Touchstone(w io.Writer, s *result.Sweep, form touchstone.Form) error {
	var c comments
	for _, line := range tell.About(&result.Swept{Jig: &s.Jig, Calibration: s.Calibration, Part: s.Part, RestsOn: s.RestsOn}) {
		c.add("%v", line)
	}
	n := &touchstone.Network{}
	readings := slices.Clone(s.Readings)
	slices.SortStableFunc(readings, func(a, b result.Reading) int {
		if a.NominalHz < b.NominalHz {
			return -1
		}
		return 1
	})
	worst, at := 0.0, 0.0
	for _, r := range readings {
		z := r.Reading()
		if !r.Trusted || z.Re.IsAbsent() || z.Im.IsAbsent() {
			c.add("%v left out: no value that can be trusted", block.Hz(r.NominalHz))
			continue
		}
		n.FreqHz = append(n.FreqHz, r.NominalHz)
		n.Ohm = append(n.Ohm, complex(z.Re.Value, z.Im.Value))
		if u := (z.Modulus.High - z.Modulus.Low) / 2 / z.Modulus.Value; !z.Modulus.IsAbsent() && u > worst {
			worst, at = u, r.NominalHz
		}
	}
	if worst > 0 {
		c.add("|Z| within %v or better (95 %), worst at %v", block.Rough(worst, block.Share), block.Hz(at))
	}
	n.Comments = c.lines
	return touchstone.Write(w, n, form)
}
