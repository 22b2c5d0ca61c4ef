package stimulus_test

import (
	"fmt"

	"example.org/wheatear/lockin/stimulus"
)

func ExamplePlanTones() {
	plan, err := stimulus.PlanTones(stimulus.Config{RateHz: 48000, Seconds: 2, Peak: 0.25}, []stimulus.ToneRequest{
		{FreqHz: 1000, Movable: true},
		{FreqHz: 5000}, // exactly
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range plan.Tones {
		fmt.Printf("%.2f Hz: %d cycles in %d frames\n", t.FreqHz, t.Cycles, t.Period)
	}
	block := make([]float64, 4096)
	fmt.Println(plan.Stimulus().Read(block), "frames played")
	// Output:
	// 990.21 Hz: 99 cycles in 4799 frames
	// 5000.00 Hz: 5 cycles in 48 frames
	// 4096 frames played
}
