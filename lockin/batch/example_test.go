package batch_test

import (
	"fmt"

	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/parts"
)

func ExampleSpreadOf() {
	var run []batch.Measured
	for _, ohm := range []float64{99.1, 100.4, 100.9, 98.7, 100.2, 101.1, 147} {
		run = append(run, batch.Measured{Value: ohm, OwnU: 0.1})
	}
	s := batch.SpreadOf(run, parts.Limits{})
	fmt.Printf("%d parts, mean %.1f, spread %.1f ± %.1f, %d outlier\n", s.N, s.Mean, s.SD, s.SDU, len(s.Outliers))
	// Output:
	// 6 parts, mean 100.1, spread 1.0 ± 0.3, 1 outlier
}

func ExamplePresence() {
	var jig batch.Presence
	for _, g := range []batch.Glimpse{{Open: true}, {Ohm: 812, U: 1}, {Ohm: 702, U: 1}, {Ohm: 701, U: 1}, {Open: true}, {Open: true}} {
		switch jig.Step(g) {
		case batch.Entering:
			fmt.Println("a part comes in")
		case batch.Settled:
			fmt.Printf("it stands at %.0f Ω\n", g.Ohm)
		case batch.Leaving:
			fmt.Println("it is out")
		}
	}
	// Output:
	// a part comes in
	// a part comes in
	// it stands at 701 Ω
	// it is out
}
