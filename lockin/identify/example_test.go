package identify_test

import (
	"fmt"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/identify"
)

func ExampleOf() {
	c, err := circuit.Parse("R 30m + L 12n + C 100n")
	if err != nil {
		fmt.Println(err)
		return
	}
	d := &circuit.Data{}
	for hz := 100.0; hz < 20e3; hz *= 1.6 {
		d.FreqHz, d.Z = append(d.FreqHz, hz), append(d.Z, c.Impedance(hz))
	}
	d.Cov = circuit.Relative(d.Z, 1e-3)
	id, err := identify.Of(d)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s of %.0f nF\n", id.Family, id.Value.Value*1e9)
	// Output:
	// film or class-1 ceramic capacitor of 100 nF
}
