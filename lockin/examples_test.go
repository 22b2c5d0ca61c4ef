package lockin

import (
	"fmt"
)

func ExampleLowPass() {
	l := LowPass{TimeConstantS: 0.1, Poles: 4}
	fmt.Printf("%.3f Hz wide to noise, 3 dB down at %.3f Hz, settled to 1 %% after %.2f s\n", l.ENBWHz(), l.CutoffHz(), l.SettlingS(0.01))
	// Output: 0.781 Hz wide to noise, 3 dB down at 0.692 Hz, settled to 1 % after 1.00 s
}
