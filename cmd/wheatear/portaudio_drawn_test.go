//go:build portaudio && cgo && linux

package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
)

// drawnBench is a bench as it was drawn.
type drawnBench struct {
	jig, tray string
	parts     []bulk
}

// drawnLoad is what is said of the load, loadShare the same for drawing it.
const (
	drawnLoad = "1k/0.02%"
	loadShare = 2e-4
)

// What cannot be known from recordings, as large as the jig file says.
const (
	contactOhm = 0.5e-3
	strayFarad = 0.02e-12
	gainDrift  = 5e-6
)

// draw draws jig, card, standards and parts, and writes into the jig file how large
// each may be: no more and no less is known of it. Mains of 50 Hz have odd multiples
// only, as a tone of 100 Hz is not told from a line under it.
func draw(seed uint64, device string) drawnBench {
	d := drawer{rand.New(rand.NewPCG(seed, 77))}
	channels := []string{`["total", "part"]`, `["part", "reference"]`, `["total", "reference"]`}[seed%3]
	mains := []float64{50, 60}[seed%2]
	parts := []bulk{
		{"r1", 1 * (1 + d.within(0.05)), 1, 10e-9, false},
		{"r1m", 1e6 * (1 + d.within(0.05)), 0.15e-12, 10e-9, true},
		{"c100p", 0.5, 100e-12 * (1 + d.within(0.05)), 10e-9, false},
		{"c1u", 0.2, 1e-6 * (1 + d.within(0.05)), 15e-9, false},
		{"c1000u", 0.05, 1000e-6 * (1 + d.within(0.05)), 20e-9, false},
	}
	tray := d.trayParts(parts) + d.trayJig(channels) + d.trayFaults(mains)
	return drawnBench{jigFile(channels, mains, device), tray, parts}
}

// drawer draws values.
type drawer struct{ r *rand.Rand }

// within is evenly spread, up to the limit either way.
func (d drawer) within(limit float64) float64 { return limit * (2*d.r.Float64() - 1) }

// around is normal, and not negative.
func (d drawer) around(mean, u float64) float64 { return math.Abs(mean + u*d.r.NormFloat64()) }

// trayParts are the parts, and the standards as they really are.
func (d drawer) trayParts(parts []bulk) string {
	var b strings.Builder
	put := func(name, circuit string) { fmt.Fprintf(&b, "[[part]]\nname = %q\ncircuit = %q\n", name, circuit) }
	for _, p := range parts {
		put(p.name, p.circuit())
	}
	put("open", fmt.Sprintf("C %g", d.around(0.05e-12, 0.01e-12)))
	put("short", fmt.Sprintf("R %g + L %g", d.around(1e-3, 0.2e-3), d.around(10e-9, 2e-9)))
	put("load", fmt.Sprintf("(R %.9g + L %g) // C %g", 1000*(1+d.within(loadShare)), d.around(10e-9, 3e-9), d.around(0.2e-12, 0.05e-12)))
	return b.String()
}

func (d drawer) trayJig(channels string) string {
	return fmt.Sprintf(`
[jig]
channels = %s
reference = %.9g
reference_capacitance = %g
source_resistance = 33
source_capacitance = "220u"
lead_resistance = %g
lead_inductance = %g
fixture_capacitance = %g
contact_resistance = "3m"
contact_spread = %g
fixture_spread = %g
input_resistance = [%g, %g]
input_capacitance = [%g, %g]
input_corner_hz = [%g, %g]
`, channels, 1000*(1+d.within(1e-3)), d.around(0.5e-12, 0.1e-12), d.around(0.06, 0.02), d.around(0.4e-6, 0.1e-6), d.around(6e-12, 1e-12),
		contactOhm, strayFarad, d.around(220e3, 5e3), d.around(220e3, 5e3), d.around(120e-12, 10e-12), d.around(120e-12, 10e-12), d.around(3, 0.3), d.around(3, 0.3))
}

// trayFaults are those of the card. Its clock is that of the server.
func (d drawer) trayFaults(mains float64) string {
	even := mains - 50 // no even multiples of 50 Hz
	if even > 0 {
		even = d.around(3e-5, 1e-5)
	}
	return fmt.Sprintf(`
[faults]
latency_frames = %d
crosstalk = [%g, %g]
gain = [%g, %g]
gain_drift = %g
delay_samples = [0, %g]
offset = [%g, %g]
hum_hz = %.4f
hum_levels = [%.3g, %.3g, %.3g, %.3g, %.3g]
noise = [4e-6, 4e-6]
pink_noise = [1e-6, 1e-6]
bits = 24
`, d.r.IntN(3000), d.within(5e-5), d.within(5e-5), d.within(0.01), d.within(0.01), gainDrift, d.within(0.4), d.within(1e-3), d.within(1e-3),
		mains+d.within(0.03), d.around(3e-4, 1e-4), even, d.around(1e-4, 3e-5), even, d.around(5e-5, 1e-5))
}

func jigFile(channels string, mains float64, device string) string {
	return fmt.Sprintf(`name = "drawn jig"
channels = %s
reference = "1k"
reference_tolerance = "0.1%%"
reference_capacitance = "0.5p"
input_resistance = "220k"
input_capacitance = "120p"
mains = %g
contact_repeatability = "%g"
stray_repeatability = "%g"
drift = "%gppm"

[standards]
open_capacitance = ["0.05p", "0.01p"]
short_resistance = ["1m", "0.2m"]
short_inductance = ["10n", "2n"]
load_capacitance = ["0.2p", "0.05p"]
load_inductance = ["10n", "3n"]

[card]
backend = "portaudio"
input = %q
`, channels, mains, contactOhm, strayFarad, gainDrift*1e6, device)
}
