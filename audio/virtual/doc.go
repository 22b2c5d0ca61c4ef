// Package virtual is a simulated stereo sound card with a jig and a part, for work
// without hardware.
//
//	drive → source → jig with part → two inputs → faults of a card → frames
//
// The jig is a circuit, solved in time by elements of its own; nothing here knows
// of impedance. A linear circuit is taken apart into its natural frequencies
// (modes.go), and each is carried from sample to sample exactly for the signal
// that a perfect converter makes of the samples (kernel.go): there is no step
// size. Up to 0.4 of the rate the steady state is that of the circuit to 1e-6;
// against ngspice the worst of nine circuits is 3e-8 (testdata/ngspice). Beside
// them, silicon junctions, ceramic capacitors that lose capacitance with voltage
// and inductors that saturate are solved by Newton's method in 16 steps per sample:
// at small levels they equal their linear circuit to 1e-5 up to 1/2.4 of the rate,
// 20 kHz at 48 kHz; at large ones the fundamental is right to 3e-4 up to a fifth of
// the rate, and was within 5e-6 of ngspice under a twentieth of it. Elements with a
// constant phase are networks right to 1e-5.
//
// [Card] implements [example.org/wheatear/audio.Card]. [Card.Filter] stands between
// two devices of a sound server. [Stream] is what both are made of. A [Tray] holds
// the parts, by name, and may be read from a file ([ParseTray]):
//
//	[[part]]
//	name = "film"
//	circuit = "C 100n + R 20m + L 8n"
//
//	[[part]]
//	name = "diode in circuit"
//	circuit = "C 1u"
//	[[part.junction]]            # beside the circuit; all keys may be left out
//	saturation = "4n"            # ampere
//	emission = 1.85
//	series_resistance = "0.6"
//	capacitance = "3p"
//	count = 1                    # in series
//	reverse = false
//
//	[[part]]
//	name = "class 2 ceramic"
//	[[part.ceramic]]             # C0/(1+(v/V0)²)^1.5
//	capacitance = "10u"
//	volt = "3"
//	series_resistance = "10m"
//	series_inductance = "0.8n"
//	leak_resistance = "500M"
//
//	[[part]]
//	name = "iron core"
//	[[part.core]]                # i = φ/L0 (1+(φ/φs)⁴)
//	inductance = "0.18"
//	flux = "0.26m"               # volt seconds
//	winding_resistance = "22"
//	loss_resistance = "50k"
//	capacitance = "80p"
//
//	[[part]]
//	name = "electrode"
//	[[part.constant_phase]]      # 1/(Q (jω)^n)
//	q = "1u"
//	exponent = 0.8
//	series_resistance = "10"
//
// "open", "short" and "load" are in every tray, and "resistor 470" with any value; a part of such a name takes its
// place. Tables [jig] and [faults] may say what the simulated jig really is and
// what is wrong with the card; their keys are those of testdata/tray.toml.
//
// Everything that is drawn comes from a seed: the same seed and the same acts give
// the same frames. Nothing sleeps and no goroutine is started.
package virtual
