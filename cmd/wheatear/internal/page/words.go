package page

import (
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
)

// Line is a named figure.
type Line struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// written sets one value.
func written(v block.Value) string { return (&typeset.Setter{}).Value(v) }

// sentence sets a text.
func sentence(t block.Text) string { return (&typeset.Setter{}).Text(t) }

// rough writes a number of which no uncertainty is known.
func rough(v float64, unit string) string { return written(block.Rough(v, unit)) }

// place writes a frequency with as many digits as distinguish the points of a sweep.
func place(freqHz float64) string { return written(block.PlaceHz(freqHz)) }
