// Buried recovers a tone 40 dB under the noise from a stream, block by block, as it
// would come from a card: a lock-in of four poles, narrow enough to be worth waiting for.
//
//	go run ./examples/buried
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

const (
	rateHz = 48000
	toneHz = 1030
	sigma  = 0.1                      // rms of the noise
	level  = sigma * math.Sqrt2 / 100 // peak of the tone
	phase  = 0.5
)

func main() {
	if err := run(os.Stdout); err != nil {
		log.Fatal(err)
	}
}

func run(w io.Writer) error {
	cfg := lockin.Config{RateHz: rateHz, TonesHz: []float64{toneHz}, Every: rateHz, Filter: lockin.Filter{TauS: 4, Poles: 4}}
	about, err := cfg.Response(0)
	if err != nil {
		return err
	}
	demodulator, err := lockin.New[float64](cfg)
	if err != nil {
		return err
	}
	// White noise has 2σ²/rate of power per hertz; the filter passes ENBW of it.
	left := sigma * math.Sqrt(2*2*about.ENBWHz/rateHz)
	fmt.Fprintf(w, "noise left by the filter: %.0f µ rms, settled to 0.1 %% after %.0f s\n", left*1e6, about.SettlingS(1e-3))
	noise := rand.New(rand.NewPCG(1, 2))
	block := make([]float64, 512)
	var out lockin.Result
	for n := 0; n < 80*rateHz; n += len(block) {
		for i := range block {
			block[i] = level*math.Cos(2*math.Pi*toneHz*float64(n+i)/rateHz+phase) + sigma*noise.NormFloat64()
		}
		out.Clear()
		demodulator.Process(&out, lockin.Planar(block))
		for i, m := range out.Marks {
			if seconds := m.Frame / rateHz; seconds%20 == 0 {
				a := out.At(i)[0]
				fmt.Fprintf(w, "after %d s: %.0f µ of full scale, %+.2f rad\n", seconds, cmplx.Abs(a)*1e6, cmplx.Phase(a))
			}
		}
	}
	_, err = fmt.Fprintf(w, "played:     %.0f µ, %+.2f rad\n", level*1e6, phase)
	return err
}
