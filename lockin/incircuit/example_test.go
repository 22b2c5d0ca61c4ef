package incircuit_test

import (
	"fmt"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/incircuit"
)

// A capacitor of 1 µF with a resistor of 4.7 kΩ across it.
func ExampleAsk() {
	board, err := circuit.Parse("(R 0.5 + C 1u) // R 4.7k")
	if err != nil {
		fmt.Println(err)
		return
	}
	s := &incircuit.Sweep{}
	for hz := 20.0; hz < 20e3; hz *= 1.5 {
		s.FreqHz, s.Ohm = append(s.FreqHz, hz), append(s.Ohm, board.Impedance(hz))
	}
	cov := mat.NewSymDense(2*len(s.Ohm), nil)
	for i, c := range circuit.Relative(s.Ohm, 1e-4) {
		cov.SetSym(2*i, 2*i, c.ReRe)
		cov.SetSym(2*i+1, 2*i+1, c.ImIm)
	}
	s.Cov = cov
	a, err := incircuit.Ask(s, incircuit.Question{Kind: impedance.Capacitor, Nominal: 1e-6})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(a.Told, a.Value.Low <= 1e-6 && 1e-6 <= a.Value.High)
	// Output:
	// true true
}
