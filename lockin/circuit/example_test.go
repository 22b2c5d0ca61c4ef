package circuit_test

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/uncertain"
)

func ExampleParse() {
	c, err := circuit.Parse("R 100k // (C 1u + R 0.2 + L 15n)")
	if err != nil {
		fmt.Println(err)
		return
	}
	z := c.Impedance(100)
	fmt.Printf("%s at 100 Hz: %.0f %.0fj ohm\n", c, real(z), imag(z))

	_, err = circuit.Parse("R 100k // (C 1u + R 0.2")
	fmt.Println(err)
	// Output:
	// R 100k // (C 1u + R 0.2 + L 15n) at 100 Hz: 26 -1591j ohm
	// circuit: "R 100k // (C 1u + R 0.2", character 24: the bracket opened at character 11 is not closed
}

func ExampleFit() {
	part, _ := circuit.Parse("C 470u + R 0.06")
	sweep := &circuit.Data{}
	for k := range 16 {
		f := 100 * math.Pow(10, float64(k)/10)
		wobble := 1 + complex(0.001*math.Sin(float64(7*k)), 0.001*math.Cos(float64(5*k)))
		sweep.FreqHz = append(sweep.FreqHz, f)
		sweep.Z = append(sweep.Z, part.Impedance(f)*wobble)
	}
	sweep.Cov = circuit.Relative(sweep.Z, 0.001)

	model, _ := circuit.Parse("C + Rs")
	fit, err := circuit.Fit(model, sweep, circuit.FitConfig{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range fit.Parameters {
		fmt.Println(p.Name, uncertain.FormatQuantity(p.Quantity, p.Unit))
	}
	fmt.Println(fit.Agreement)
	// Output:
	// C 469.97 µF ± 0.24 µF
	// Rs 60.01 mΩ ± 0.14 mΩ
	// agrees
}
