package virtual

import (
	"errors"
	"math"
	"math/cmplx"
	"strings"
	"testing"
)

// A capacitor that is left alone discharges by exp(-T/RC) in every sample.
func TestDischarge(t *testing.T) {
	const rateHz, tau = 48000.0, 1033.0 * 100e-9 // source and reference in series
	j := full(t, Jig{SourceOhm: 33})
	p, err := newPlayer(j.build(inserted{part: part("C 100n")}), rateHz, newKernel())
	if err != nil {
		t.Fatal(err)
	}
	drive := make([]float64, 300)
	drive[0] = 1
	out, err := p.process(nil, drive)
	if err != nil {
		t.Fatal(err)
	}
	for i := playerFrames + half + 2; i < playerFrames+half+12; i++ {
		got, want := out[i+1][1]/out[i][1], math.Exp(-1/(rateHz*tau))
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("from frame %d to the next: %v, want %v", i, got, want)
		}
	}
}

// Nothing is heard before the delay that is stated, but for the kernel's reach.
func TestPlayerDelay(t *testing.T) {
	j := full(t, Jig{})
	for name, part := range map[string]*Part{"linear": part("R 1k"), "not linear": {Circuit: "R 1k", Junctions: []Junction{{SaturationA: 1e-30}}}} {
		p, err := newPlayer(j.build(inserted{part: part}), 48000, newKernel())
		if err != nil {
			t.Fatal(err)
		}
		drive := make([]float64, 200)
		drive[10] = 1
		out, err := p.process(nil, drive)
		if err != nil {
			t.Fatal(err)
		}
		peak := 0
		for i := range out {
			if math.Abs(out[i][1]) > math.Abs(out[peak][1]) {
				peak = i
			}
		}
		if peak != 10+playerFrames || math.Abs(out[peak][1]-0.5) > 0.02 {
			t.Errorf("%s: the impulse is at %d with %v, want %d and 0.5", name, peak, out[peak], 10+playerFrames)
		}
	}
}

func TestNetworkRefuses(t *testing.T) {
	j := full(t, TypicalJig())
	_, err := newPlayer(j.build(inserted{part: part("R 0 // R 0")}), 48000, newKernel())
	if !errors.Is(err, errNetwork) {
		t.Errorf("two wires side by side: %v", err)
	}
	n := newNetwork() // a capacitor across a negative resistor
	a := n.node()
	n.drive(a, 100)
	n.conductance(a, 0, -0.02)
	n.capacitor(a, 0, 1e-6)
	n.probes = []probe{across(a, 0), across(a, 0)}
	if _, err := n.solve(1000); !errors.Is(err, errNetwork) || !strings.Contains(err.Error(), "not stable") {
		t.Errorf("a circuit that is not stable: %v", err)
	}
}

// Circuits whose equations have more capacitors and inductors than states.
func TestDegenerateCircuits(t *testing.T) {
	for _, text := range []string{
		"C 1u + C 2u", "C 1u // C 2u // C 3u", "L 1m // L 2m", "L 1m + L 2m", "L 1m // L 2m + C 1u // C 2u",
		"C 1u + C 2u + C 3u", "L 0", "C 0", "L 1m // R 0", "C 1u // R 0", "(C 1u + R 0) // (C 1u + R 0)", "R 1m // R 10M // C 1f",
	} {
		for _, jig := range []Jig{{}, {SourceOhm: 1, FixtureFarad: 1e-12}, TypicalJig()} {
			j := full(t, jig)
			b := j.build(inserted{part: part(text)})
			m, err := b.net.solve(2 * math.Pi * 1000)
			if err != nil {
				t.Errorf("%s: %v", text, err)
				continue
			}
			for _, omega := range []float64{100, 6000, 1e5} {
				want := acOf(t, b.net, omega)
				for o := range want {
					if got := m.response(omega, o, 0); cmplx.Abs(got-want[o]) > 1e-9 {
						t.Errorf("%s, output %d at %g/s: got %v, want %v", text, o, omega, got, want[o])
					}
				}
			}
		}
	}
}

// A constant phase element against its definition: 1/(Q (jω)^n).
func TestConstantPhase(t *testing.T) {
	for _, n := range []float64{0.1, 0.5, 0.8, 0.95} {
		q := 1 / (1000 * math.Pow(2*math.Pi*1000, n)) // 1 kΩ at 1 kHz
		j := full(t, Jig{})
		b := j.build(inserted{part: &Part{ConstantPhase: []ConstantPhase{{Q: q, Exponent: n, SeriesOhm: 10}}}})
		m, err := b.net.solve(2 * math.Pi * 1000)
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for _, freqHz := range []float64{1, 3, 20, 137, 1e3, 2e4, 1e5, 1e6} {
			z := 10 + 1/(complex(q, 0)*cmplx.Pow(complex(0, 2*math.Pi*freqHz), complex(n, 0)))
			y := m.response(2*math.Pi*freqHz, 1, 0)
			got := 1000 * y / (1 - y)
			worst = max(worst, cmplx.Abs(got-z)/cmplx.Abs(z))
		}
		t.Logf("n = %g: off by %.2g", n, worst)
		if worst > 1e-5 {
			t.Errorf("n = %g: off by %.2g, 1e-5 is claimed", n, worst)
		}
	}
}

// The four wirings give what their channels are named for, with strays left out.
func TestWirings(t *testing.T) {
	z := complex(300, -1/(2*math.Pi*1000*1e-6)) // 300 Ω and 1 µF at 1 kHz
	const r = 1000
	cases := []struct {
		a, b string
		want complex128 // output b over output a
	}{
		{"total", "part", z / (z + r)},
		{"part", "total", (z + r) / z},
		{"total", "reference", r / (z + r)},
		{"reference", "-total", -(z + r) / r},
		{"part", "reference", r / z},
		{"reference", "part", z / r},
		{"-part", "-reference", r / z},
		{"part", "-reference", -r / z},
		{"-reference", "part", -z / r},
		{"-part", "reference", -r / z},
		{"-part", "total", -(z + r) / z},
	}
	for _, c := range cases {
		j := full(t, Jig{Channels: [2]string{c.a, c.b}, SourceOhm: 50})
		b := j.build(inserted{part: part("R 300 + C 1u")})
		m, err := b.net.solve(2 * math.Pi * 1000)
		if err != nil {
			t.Fatal(err)
		}
		got := m.response(2*math.Pi*1000, 1, 0) / m.response(2*math.Pi*1000, 0, 0)
		if cmplx.Abs(got-c.want) > 1e-9*cmplx.Abs(c.want) {
			t.Errorf("%s, %s: ratio %v, want %v", c.a, c.b, got, c.want)
		}
	}
	for _, c := range [][2]string{{"part", "part"}, {"total", "-total"}, {"part", ""}, {"left", "right"}, {"--part", "total"}} {
		if _, err := (Jig{Channels: c}).withDefaults(); err == nil {
			t.Errorf("channels %q were taken", c)
		}
	}
}

// What a jig's volts are in full scale.
func TestScales(t *testing.T) {
	j := full(t, Jig{DriveVolts: 2, FullScaleVolts: [2]float64{4, 0.5}})
	m, err := j.build(inserted{part: part("R 1k")}).net.solve(1000)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := m.response(10, 0, 0), m.response(10, 1, 0); cmplx.Abs(a-0.5) > 1e-12 || cmplx.Abs(b-2) > 1e-12 {
		t.Errorf("got %v and %v, want 0.5 and 2", a, b)
	}
	if _, err := (Jig{LeadOhm: -1}).withDefaults(); err == nil {
		t.Error("a negative resistance was taken")
	}
	if _, err := (Jig{DriveVolts: math.Inf(1)}).withDefaults(); err == nil {
		t.Error("infinite volts were taken")
	}
}
