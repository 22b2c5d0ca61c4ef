package predict_test

import (
	"fmt"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/predict"
)

// How well would this jig read 100 nF at 1 kHz?
func ExampleSetup() {
	jig, err := fixture.NewJig(fixture.Pair{{Carries: fixture.Total}, {Carries: fixture.Part}}, 1000)
	if err != nil {
		fmt.Println(err)
		return
	}
	setup := &predict.Setup{Jig: jig, Load: &fixture.Load{Ohm: 1000, Tolerance: 1e-3},
		Card: predict.Card{RateHz: 48000, Seconds: 1, Peak: 0.25, NoiseRMS: [2]float64{predict.DefaultNoiseRMS, predict.DefaultNoiseRMS}}}
	calibrated, err := setup.Calibrate(1000)
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := calibrated.Part(complex(0, -1591.5))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f nF, %.1f %%\n", r.Reading.Series.C.Value*1e9, 100*predict.HalfWidth(r.Reading.Series.C))
	// Output:
	// 100.0 nF, 0.1 %
}
