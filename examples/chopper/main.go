// Chopper follows the square wave of a light chopper in channel 8 and reads the seven
// detectors in the other channels, to the phase of the blade, although its motor speeds
// up all the time.
//
//	go run ./examples/chopper
package main

import (
	"fmt"
	"io"
	"log"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"

	"example.org/wheatear/lockin"
)

const rateHz = 96000

func main() {
	if err := run(os.Stdout); err != nil {
		log.Fatal(err)
	}
}

func run(w io.Writer) error {
	d, err := lockin.New[float32](lockin.Config{RateHz: rateHz, Channels: 8, Every: rateHz / 2,
		Lock: lockin.Lock{Channel: 7, NearHz: 400}, Filter: lockin.Filter{PassHz: 5, StopHz: 20}})
	if err != nil {
		return err
	}
	rng, block := rand.New(rand.NewPCG(1, 2)), make([]float32, 8*960)
	var r lockin.Result
	for n := 0; n < 2*rateHz; n += 960 {
		for i := range 960 {
			s := float64(n+i) / rateHz
			turns := 398*s + 1.5*s*s // 3 Hz per second
			for ch := range 7 {      // light of 1 … 7 mFS, each 0.1 rad later, in noise
				block[8*i+ch] = float32(1e-3*float64(ch+1)*math.Cos(2*math.Pi*turns-0.1*float64(ch)) + 2e-3*rng.NormFloat64())
			}
			block[8*i+7] = float32(math.Copysign(0.5, math.Cos(2*math.Pi*turns)))
		}
		d.Process(&r, lockin.Interleaved(block, 8))
	}
	for i, m := range r.Marks {
		if !m.OK() {
			fmt.Fprintf(w, "%.1f s: %v\n", float64(m.Frame)/rateHz, m.Flags)
			continue
		}
		fmt.Fprintf(w, "%.1f s, %.1f Hz:", float64(m.Frame)/rateHz, m.FreqHz)
		for _, a := range r.At(i)[:7] {
			fmt.Fprintf(w, "  %.1f m %+.1f rad", 1e3*cmplx.Abs(a), cmplx.Phase(a))
		}
		fmt.Fprintln(w)
	}
	return nil
}
