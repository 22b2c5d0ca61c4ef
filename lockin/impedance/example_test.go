package impedance_test

import (
	"encoding/json"
	"fmt"
	"math"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// A film capacitor of 100 nF at 1 kHz, read against a resistor of 0.1 %.
func ExampleDerive() {
	var in uncertain.Inputs
	re := in.Add("noise", 0.0040, 0.0002)
	im := in.Add("noise", -1.5915, 0.0002)
	ref := in.Add("reference", 1000, uncertain.Rectangular.U(1), uncertain.Rectangular)
	clock := in.Add("clock", 1000, uncertain.Rectangular.U(0.1), uncertain.Rectangular)
	model := func(dst, x []float64) {
		dst[0], dst[1], dst[2] = x[ref]*x[re], x[ref]*x[im], x[clock]
	}
	r, err := impedance.Derive(&in, model, impedance.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.State, r.Dominance.Kind)
	fmt.Printf("Cs %.1f nF, u %.2f nF, from %.1f to %.1f nF\n",
		r.Series.C.Value*1e9, r.Series.C.U*1e9, r.Series.C.Low*1e9, r.Series.C.High*1e9)
	fmt.Printf("D  %.4f, u %.4f\n", r.D.Value, r.D.U)
	fmt.Println(r.Fitting.Circuit+":", r.Fitting.Reason)
	// Output:
	// ok capacitor
	// Cs 100.0 nF, u 0.06 nF, from 99.9 to 100.1 nF
	// D  0.0025, u 0.0001
	// either: series and parallel value agree within their uncertainty
}

// Loss that is lost in the noise: D is below its bound, Q above its own.
func ExampleReading_Report() {
	var in uncertain.Inputs
	in.Add("re", -0.05, 0.1)
	in.Add("im", -1000, 0.1)
	r, err := impedance.Derive(&in, func(dst, x []float64) { dst[0], dst[1], dst[2] = x[0], x[1], 1000 }, impedance.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("D = %g, at most %.1g; Q at least %.0g\n", r.D.Value, r.D.High, r.Q.Low)
	inductance, err := json.Marshal(r.Report().Series.L)
	fmt.Println("series inductance:", string(inductance), err)
	// Output:
	// D = 0, at most 0.0002; Q at least 6e+03
	// series inductance: null <nil>
}

func ExampleOf() {
	e := impedance.Of(complex(12, 2*math.Pi*1000*10e-3), 1000)
	fmt.Printf("Ls %.1f mH, Lp %.3f mH, Rp %.1f Ω, Q %.3f\n", e.SeriesH*1e3, e.ParallelH*1e3, e.ParallelOhm, e.Q)
	// Output: Ls 10.0 mH, Lp 10.365 mH, Rp 341.0 Ω, Q 5.236
}

func ExampleKindOf() {
	fmt.Println(impedance.KindOf(complex(3, -4)), impedance.KindOf(complex(3, 4)), impedance.KindOf(complex(4, 3)))
	// Output: capacitor inductor resistor
}
