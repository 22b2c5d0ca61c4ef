package lockin_test

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin"
)

// int16 samples of two channels, as a sound card gives them.
func ExampleDemodulator() {
	d, err := lockin.New[int16](lockin.Config{
		RateHz: 48000, Channels: 2, TonesHz: []float64{1000},
		Filter: lockin.Filter{PassHz: 20, StopHz: 80},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	x := make([]int16, 2*9600)
	for i := range 9600 {
		t := 2 * math.Pi * 1000 * float64(i) / 48000
		x[2*i] = int16(math.Round(8192 * math.Cos(t)))
		x[2*i+1] = int16(math.Round(4096 * math.Cos(t-math.Pi/4)))
	}
	var r lockin.Result
	for len(x) > 0 {
		n := min(len(x), 2*512)
		d.Process(&r, lockin.Interleaved(x[:n], 2))
		x = x[n:]
	}
	last := len(r.Marks) - 1
	for ch, a := range r.At(last) {
		fmt.Printf("channel %d: %.4f of full scale, %.2f°\n", ch+1, cmplx.Abs(a), cmplx.Phase(a)*180/math.Pi)
	}
	fmt.Println(r.Marks[last].Flags, "after", r.Marks[last].Frame, "frames")
	// Output:
	// channel 1: 0.2500 of full scale, 0.00°
	// channel 2: 0.1250 of full scale, -45.00°
	// settled|locked after 9600 frames
}

func ExampleConfig_Response() {
	c := lockin.Config{RateHz: 48000, TonesHz: []float64{1000}, Filter: lockin.Filter{TauS: 0.1, Poles: 4}}
	r, err := c.Response(0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f Hz wide to noise, 3 dB down at %.3f Hz, settled to 1 %% after %.2f s\n", r.ENBWHz, r.CutoffHz, r.SettlingS(0.01))
	fmt.Printf("an output every %d frames folds %.0f dB at most\n", r.Every, r.AliasDB)
	// Output:
	// 0.781 Hz wide to noise, 3 dB down at 0.692 Hz, settled to 1 % after 1.00 s
	// an output every 2904 frames folds -80 dB at most
}

func ExampleCorrelate() {
	x := make([]float64, 48000)
	for i := range x {
		t := float64(i) / 48000
		x[i] = 0.5*math.Cos(2*math.Pi*1000*t+0.3) + 0.01*math.Cos(2*math.Pi*3000*t)
	}
	sums, err := lockin.Correlate(nil, lockin.Planar(x), 48000, 1000, 3000)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range sums {
		a := s * complex(2/float64(len(x)), 0)
		fmt.Printf("%.4f %+.4f rad\n", cmplx.Abs(a), cmplx.Phase(a)+1e-9)
	}
	// Output:
	// 0.5000 +0.3000 rad
	// 0.0100 +0.0000 rad
}
