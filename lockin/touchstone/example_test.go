package touchstone_test

import (
	"fmt"
	"os"
	"strings"

	"example.org/wheatear/lockin/touchstone"
)

func ExampleWrite() {
	_ = touchstone.Write(os.Stdout, &touchstone.Network{FreqHz: []float64{1000, 2000}, Ohm: []complex128{complex(3, -723.4), complex(3, -361.7)}, Comments: []string{"220 nF film"}}, touchstone.Ohms)
	n, _ := touchstone.Read("part.s1p", strings.NewReader("# kHz Z RI R 50\n1 0.06 -14.468\n"))
	fmt.Printf("%.4g ohm at %g Hz\n", n.Ohm[0], n.FreqHz[0])
	// Output:
	// ! 220 nF film
	// # Hz Z RI R 1
	// 1000 3 -723.4
	// 2000 3 -361.7
	// (3-723.4i) ohm at 1000 Hz
}
