package uncertain_test

import (
	"encoding/json"
	"fmt"
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// The reactance of a capacitor from its value and a frequency.
func Example() {
	var in uncertain.Inputs
	in.Add("tolerance", 100e-9, uncertain.Rectangular.U(0.1e-9), uncertain.Rectangular)
	in.Add("repeats", 0, 0.03e-9, uncertain.Dof(4))
	in.Add("clock", 1000, 0.02)

	reactance := func(dst, x []float64) { dst[0] = -1 / (2 * math.Pi * x[2] * (x[0] + x[1])) }
	r, err := uncertain.Propagate(&in, 1, reactance)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(uncertain.FormatQuantity(r.Quantity(0), "Ω"))
	for _, c := range r.Budget(0) {
		fmt.Printf("%-9s %.2f Ω, %.0f %%\n", c.Label, c.U, 100*c.Share)
	}
	// Output:
	// -1.5915 kΩ ± 0.0021 kΩ
	// tolerance 0.92 Ω, 79 %
	// repeats   0.48 Ω, 21 %
	// clock     0.03 Ω, 0 %
}

// A modulus near zero is no longer normal: its mean is biased, its interval uneven.
func ExampleMonteCarlo() {
	var in uncertain.Inputs
	in.Add("real part", 0, 1)
	in.Add("imaginary part", 0, 1)
	modulus := func(dst, x []float64) { dst[0] = math.Hypot(x[0], x[1]) }
	s, err := uncertain.MonteCarlo(&in, 1, modulus, 100000, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	low, high := s.Interval(0, 0.95)
	fmt.Printf("mean %.1f, 95 %% interval %.1f to %.1f\n", s.Mean(0), low, high)
	// Output: mean 1.3, 95 % interval 0.2 to 2.7
}

func ExampleFormat() {
	fmt.Println(uncertain.Format(99.873e-9, 0.143e-9, "F"))
	fmt.Println(uncertain.Format(999.95, 1.5, "Hz"))
	fmt.Println(uncertain.Format(230e3, 230e3, "Ω"))
	// Output:
	// 99.87 nF ± 0.14 nF
	// 1.0000 kHz ± 0.0015 kHz
	// 0.23 MΩ ± 0.23 MΩ
}

func ExampleFormatQuantity() {
	open := uncertain.Absent()
	open.Low, open.High = 12.9e6, math.Inf(1)
	fmt.Println(uncertain.FormatQuantity(open, "Ω"))
	fmt.Println(uncertain.FormatQuantity(uncertain.Quantity{Value: 0.31e-3, U: 0.2e-3, Low: 0.02e-3, High: 0.94e-3}, "Ω"))
	fmt.Println(uncertain.FormatQuantity(uncertain.Absent(), "H"))
	// Output:
	// > 12 MΩ
	// 0.31 mΩ (0.02 to 0.94) mΩ
	// —
}

func ExampleQuantity_MarshalJSON() {
	open := uncertain.Absent()
	open.Low, open.High = 12e6, math.Inf(1)
	text, err := json.Marshal(map[string]uncertain.Quantity{"r_ohm": open, "l_h": uncertain.Absent()})
	fmt.Println(string(text), err)
	// Output: {"l_h":null,"r_ohm":{"value":null,"u":null,"low":12000000,"high":null}} <nil>
}

func ExampleMeanComplex() {
	z := []complex128{complex(-0.5, 0.001), complex(-0.5, -0.001)}
	mean, cov, dof, err := uncertain.MeanComplex(z)
	if err != nil {
		fmt.Println(err)
		return
	}
	modulus, _, phase, u := uncertain.Polar(mean, cov)
	fmt.Printf("%.3f, %.0f° ± %.2f° with %g degree of freedom\n", modulus, phase*180/math.Pi, u*180/math.Pi, dof)
	// Output: 0.500, 180° ± 0.11° with 1 degree of freedom
}
