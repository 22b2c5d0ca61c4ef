// Chirp measures the frequency response of a low-pass within a second: the program that
// plays the chirp knows its phase, and hands it over as the reference.
//
//	go run ./examples/chirp
package main

import (
	"fmt"
	"io"
	"log"
	"math"
	"math/cmplx"
	"os"

	"example.org/wheatear/lockin"
)

const (
	rateHz  = 48000
	frames  = rateHz
	cornerS = 1 / (2 * math.Pi * 1000) // time constant of the low-pass: 1 kHz
)

func main() {
	if err := run(os.Stdout); err != nil {
		log.Fatal(err)
	}
}

func run(w io.Writer) error {
	cfg := lockin.Config{RateHz: rateHz, External: true, Every: 4800, Filter: lockin.Filter{PassHz: 50, StopHz: 200}}
	about, err := cfg.Response(0)
	if err != nil {
		return err
	}
	d, err := lockin.New[float64](cfg)
	if err != nil {
		return err
	}
	hz := func(s float64) float64 { return 500 + 4500*s }
	x, ref := make([]float64, frames), make([]complex128, frames)
	y, gain := 0.0, -math.Expm1(-1/(cornerS*rateHz))
	for i := range x {
		s := float64(i) / rateHz
		ref[i] = cmplx.Rect(1, 2*math.Pi*(500*s+2250*s*s))
		y += gain * (real(ref[i]) - y)
		x[i] = y
	}
	var r lockin.Result
	d.ProcessWith(&r, lockin.Planar(x), ref)
	for i, m := range r.Marks {
		if f := hz(float64(m.Frame)/rateHz - about.DelayS); m.OK() {
			fmt.Fprintf(w, "%.0f Hz: %.3f, a first-order low-pass has %.3f\n", f, cmplx.Abs(r.At(i)[0]), 1/math.Hypot(1, f/1000))
		}
	}
	return nil
}
