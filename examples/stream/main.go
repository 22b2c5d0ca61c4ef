// Stream demodulates 16-bit samples of two channels from a pipe: the amplitude of 1 kHz
// in both, and the second over the first.
//
//	arecord -q -t raw -f S16_LE -c 2 -r 48000 | go run ./examples/stream
package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"log"
	"math"
	"math/cmplx"
	"os"

	"example.org/wheatear/lockin"
)

func main() {
	if err := run(os.Stdout, os.Stdin); err != nil {
		log.Fatal(err)
	}
}

func run(w io.Writer, in io.Reader) error {
	d, err := lockin.New[int16](lockin.Config{RateHz: 48000, Channels: 2, TonesHz: []float64{1000},
		Every: 4800, Filter: lockin.Filter{PassHz: 2, StopHz: 8}})
	if err != nil {
		return err
	}
	bytes, x := make([]byte, 4*4096), make([]int16, 2*4096)
	var r lockin.Result
	for {
		n, err := io.ReadFull(in, bytes)
		whole := n / 4
		for i := range x[:2*whole] {
			x[i] = int16(binary.LittleEndian.Uint16(bytes[2*i:]))
		}
		r.Clear()
		d.Process(&r, lockin.Interleaved(x[:2*whole], 2))
		for i, m := range r.Marks {
			if a := r.At(i); m.OK() {
				ratio := a[1] / a[0]
				fmt.Fprintf(w, "%.1f s  %.4f  %.4f  ratio %.4f  %.2f°\n", float64(m.Frame)/48000, cmplx.Abs(a[0]), cmplx.Abs(a[1]), cmplx.Abs(ratio), cmplx.Phase(ratio)*180/math.Pi)
			}
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}
