package record_test

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/record"
)

func ExampleTracker() {
	tracker, err := record.NewTracker(record.TrackConfig{RateHz: 48000, TonesHz: []float64{1000}})
	if err != nil {
		fmt.Println(err)
		return
	}
	block := make([]float64, 2*4800)
	for second := range 20 { // as read from a file, a tenth of a second at a time
		for n := range 4800 {
			s := math.Sin(2 * math.Pi * 1000.05 / 48000 * float64(4800*second+n))
			block[2*n], block[2*n+1] = 0.5*s, -0.25*s
		}
		if err := tracker.AddInterleaved(block); err != nil {
			fmt.Println(err)
			return
		}
	}
	r, err := tracker.Result()
	if err != nil {
		fmt.Println(err)
		return
	}
	z := r.Tones[0].Phasors
	fmt.Printf("%.3f Hz, ratio %.4f\n", r.Tones[0].FreqHz, real(z[0]/z[1]))
	// Output: 1000.050 Hz, ratio -2.0000
}
