package report

import (
	"bytes"
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"example.org/wheatear/lockin/uncertain"
)

// The picture in letters: three columns to the frequency of the map, two rows to a
// decade of impedance.
const (
	gridFreqs, gridSpread = 20, 3
	gridRows              = 19
	gridLowHz             = 20.0
	gridLow, gridHigh     = 1e-2, 1e7
)

// grid is the chart of the best choice's reference for a terminal: how well |Z| can be
// read over frequency, and the part in it.
func (p *Planning) grid(b *bytes.Buffer) error {
	best := p.Plan.Choices[0]
	highHz := math.Min(20e3, 0.4*p.Setup.Card.RateHz)
	setup := p.Setup.With(best.ReferenceOhm)
	setup.Card.Peak, setup.Card.Seconds = best.Peak, best.Seconds
	m, err := setup.NewMap(gridLowHz, highHz, gridFreqs, gridLow, gridHigh, gridRows)
	if err != nil {
		return err
	}
	fmt.Fprintf(b, "\n|Z| with %s: # within 0.1 %%, + 1 %%, . 10 %%, o the part\n\n", uncertain.Format(best.ReferenceOhm, 0, "Ω"))
	columns := gridFreqs * gridSpread
	for row := gridRows - 1; row >= 0; row-- {
		label := ""
		if row%2 == 0 {
			label = uncertain.Format(round3(m.Ohms[row]), 0, "Ω")
		}
		line := make([]byte, columns)
		for c := range line {
			line[c] = gridLetter(m.Half[c/gridSpread][row])
			hz := gridLowHz * math.Pow(highHz/gridLowHz, (float64(c)-1)/float64(columns-gridSpread))
			z := cmplx.Abs(p.Plan.Wish.Part.Impedance(hz))
			if int(math.Round(math.Log10(z/gridLow)*2)) == row {
				line[c] = 'o'
			}
		}
		fmt.Fprintf(b, "%s |%s\n", padLeft(label, 8), strings.TrimRight(string(line), " "))
	}
	fmt.Fprintf(b, "%s +%s\n%s%s\n", padLeft("", 8), strings.Repeat("-", columns), padLeft("", 10), gridScale(columns, highHz))
	return nil
}

func gridLetter(half float64) byte {
	switch {
	case half <= 0.001:
		return '#'
	case half <= 0.01:
		return '+'
	case half <= 0.1:
		return '.'
	}
	return ' '
}

// gridScale writes frequencies below the columns that they begin at.
func gridScale(columns int, highHz float64) string {
	line := ""
	for _, hz := range []float64{20, 100, 1e3, 10e3} {
		at := 1 + int(math.Round(math.Log(hz/gridLowHz)/math.Log(highHz/gridLowHz)*float64(columns-gridSpread)))
		if hz < highHz && at >= len(line) {
			line += strings.Repeat(" ", at-len(line)) + nominal(hz) + " "
		}
	}
	return strings.TrimRight(line, " ")
}
