// Package export writes results for other programs: circuits and sweeps for circuit
// simulators. What is known of a figure stands in comments.
package export

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/touchstone"
)

// comments are lines of comment, in which nothing of what they say can end the line.
type comments struct{ lines []string }

func (c *comments) add(format string, args ...any) {
	var set typeset.Setter
	text := strings.Map(func(r rune) rune {
		switch {
		case r < ' ', r == '\u00a0':
			return ' '
		case r == '\u2212':
			return '-'
		}
		return r
	}, set.Text(block.Say(format, args...)))
	c.lines = append(c.lines, text)
}

// Spice writes the best circuit of a fit as a subcircuit of that name.
func Spice(w io.Writer, f *result.Fit, name string) error {
	if len(f.Circuits) == 0 {
		return fmt.Errorf("there is no circuit to write")
	}
	best := &f.Circuits[0]
	r, err := best.Result()
	if err != nil {
		return err
	}
	low, high := math.Inf(1), 0.0
	for _, e := range r.Residuals {
		low, high = min(low, e.FreqHz), max(high, e.FreqHz)
	}
	sub, err := r.Fitted().Spice(name, low, high)
	if err != nil {
		return err
	}
	var c comments
	for _, line := range tell.About(&f.Swept) {
		c.add("%v", line)
	}
	c.add("circuit %v", best.Circuit)
	for _, u := range best.Unknowns {
		c.add("%v %v", u.Name, tell.FittedValue(u))
	}
	c.add("fitted from %v to %v within %v rms", block.PlaceHz(low), block.PlaceHz(high), block.Rough(block.OrNaN(best.Rms), block.Share))
	if sub.Exact {
		c.add("lumped elements: the circuit itself, at all frequencies")
	} else {
		const printed = 1e-6 // simulators print no more
		c.add("ladders stand for elements that are not lumped: from %v to %v within %v of |Z|", block.PlaceHz(sub.LowHz), block.PlaceHz(sub.HighHz), block.Rough(math.Max(sub.Error, printed), block.Share))
	}
	_, err = io.WriteString(w, "* "+strings.Join(c.lines, "\n* ")+"\n"+sub.Text)
	return err
}

// Form is what the name of a Touchstone file asks for: plain ohms where it ends in .z1p.
func Form(file string) touchstone.Form {
	if strings.EqualFold(filepath.Ext(file), ".z1p") {
		return touchstone.Ohms
	}
	return touchstone.Scattering
}
