package circuit

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"
)

// relativeOff returns |got/want − 1|.
func relativeOff(got, want complex128) float64 { return cmplx.Abs(got-want) / cmplx.Abs(want) }

// Values with 12 digits or more, recomputed with 30 digits from the formulas of the
// sources named in element.go and field.go.
func TestElementsAgainstTables(t *testing.T) {
	for _, of := range []struct {
		circuit string
		freqHz  float64
		want    complex128
	}{
		{"Q 1u^0.9", 20, complex(2018.568834575, -12744.74203677)},
		{"Q 1u^0.9", 1000, complex(59.69948158375, -376.9276922747)},
		{"Q 1u^0.9", 80000, complex(1.156617000668, -7.302592339867)},
		{"W 50", 20, complex(4.460310290382, -4.460310290382)},
		{"W 50", 80000, complex(0.07052369794347, -0.07052369794347)},
		{"R 1k // Q 1u^0.9", 20, complex(982.4031410452, -74.29594630008)},
		{"R 1k // Q 1u^0.9", 10000, complex(9.656494062957, -46.64360112721)},
		// Coil of 100 mH and 50 Ω with 120 pF across, and a capacitor with its leads.
		{"(R 50 + L 100m) // C 120p", 1000, complex(50.04740771579, 628.6144444177)},
		{"(R 50 + L 100m) // C 120p", 20000, complex(76.11315719139, 15504.32755163)},
		{"(R 50 + L 100m) // C 120p", 40000, complex(853.6322085912, 103842.8120443)},
		{"C 10u + L 20n", 80000, complex(0, -1/(2*math.Pi*80000*1.053221798383e-5))},
	} {
		c := mustParse(t, of.circuit)
		if got := c.Impedance(of.freqHz); relativeOff(got, of.want) > 1e-11 {
			t.Errorf("%s at %g Hz is %.13g, want %.13g", of.circuit, of.freqHz, got, of.want)
		}
	}
}

// The finite-length diffusion R tanh√(jωτ)/√(jωτ), R = 200 Ω and τ = 10 ms, is an eddy
// core divided by jω: L = 200 and 1/(π τ) = fc.
func TestEddyCoreAgainstDiffusion(t *testing.T) {
	k, _ := kindOf('E')
	for freqHz, want := range map[float64]complex128{
		20: complex(166.5503761573, -66.76763342636), 100: complex(58.1322781182, -60.83048546833),
		1000: complex(17.84066635181, -17.84161038912), 80000: complex(1.994711402007, -1.994711402007),
	} {
		w := 2 * math.Pi * freqHz
		got := k.z(w, []float64{200, 1 / (math.Pi * 0.01)}, nil) / complex(0, w)
		if relativeOff(got, want) > 1e-11 {
			t.Errorf("at %g Hz %.13g, want %.13g", freqHz, got, want)
		}
	}
}

// Round wire: R_ac/R_dc and internal inductance by radius over skin depth. Source:
// Rosa and Grover, Bull. Bur. Stand. 8 (1912), recomputed with 30 digits.
func TestRoundWire(t *testing.T) {
	table := []struct{ x, r, l float64 }{
		{0.1, 1.00000208333, 0.999998958335}, {0.5, 1.00130072856, 0.999349692167},
		{1, 1.02049238886, 0.989767993126}, {1.5, 1.09732824609, 0.951672847803},
		{2, 1.26464290627, 0.870482595604}, {3, 1.76813165251, 0.650686942528},
		{5, 2.76810760073, 0.396275966091}, {10, 5.25930185751, 0.199585100996},
		{20, 10.2546791147, 0.0999507047613}, {50, 25.2518744906, 0.0399969392131},
	}
	for _, row := range table {
		const corner = 1000.0
		z := mustParse(t, "S 1^1k").Impedance(corner * row.x * row.x)
		l := imag(z) / (row.x * row.x / 4)
		if math.Abs(real(z)/row.r-1) > 1e-9 || math.Abs(l/row.l-1) > 1e-9 {
			t.Errorf("a/δ = %g: R %.12g, want %.12g; L %.12g, want %.12g", row.x, real(z), row.r, l, row.l)
		}
	}
}

// Copper wire of 2 mm at 20 kHz, resistivity 17.241 nΩ·m: 1.326675533 times its direct
// current resistance with µ = 4π·10⁻⁷, which moves the ratio by less than 1e-9.
func TestRoundWireFromGeometry(t *testing.T) {
	const radiusM, resistivity, mu0 = 1e-3, 17.241e-9, 4e-7 * math.Pi
	corner := resistivity / (math.Pi * mu0 * radiusM * radiusM) // the skin depth is the radius there
	c := mustParse(t, "Sw")
	if got := real(c.Impedance(20e3, 1, corner)); math.Abs(got-1.326675533) > 2e-9 {
		t.Errorf("R_ac/R_dc is %.10g, want 1.326675533", got)
	}
}

// Either side of where an expansion takes over from another, impedance and slope must
// meet.
func TestExpansionsMeet(t *testing.T) {
	for _, of := range []struct {
		letter byte
		x      float64 // (v or s) = (1+j)·x
	}{{'S', 60 / math.Sqrt2}, {'E', 0.02 / math.Sqrt2}} {
		k, _ := kindOf(of.letter)
		var below, above [2]complex128
		w := func(x float64) float64 { return 2 * math.Pi * x * x }
		a := k.z(w(of.x*(1-1e-12)), []float64{1, 1}, below[:])
		b := k.z(w(of.x*(1+1e-12)), []float64{1, 1}, above[:])
		if relativeOff(a, b) > 1e-11 || relativeOff(below[1], above[1]) > 1e-9 {
			t.Errorf("%c steps from %v to %v, its slope from %v to %v", of.letter, a, b, below[1], above[1])
		}
	}
}

// The slopes of every element and join against central differences, whose error is
// about 1e-9 for a step of 1e-5.
func TestSlopesAgainstDifferences(t *testing.T) {
	checked := 0
	for _, text := range append([]string{"Rs + (C // L + Q) // (W + K // S) + E // T + C // C + Rs // L", "Rs + E // (T + S)"}, randomKinds...) {
		c := mustParse(t, text)
		values := make([]float64, len(c.unknowns))
		for i, u := range c.unknowns {
			values[i] = at1(u, 2*math.Pi*500, 70+13*float64(i), 0.7)
		}
		for _, freqHz := range []float64{20, 500, 20e3} {
			w := 2 * math.Pi * freqHz
			work, grad := make([]complex128, c.nodes), make([]complex128, len(values))
			z := c.root.z(w, values, work)
			c.root.slopes(w, values, work, grad, 1)
			for i, v := range values {
				h := 1e-5 * v
				values[i] = v + h
				up := c.Impedance(freqHz, values...)
				values[i] = v - h
				down := c.Impedance(freqHz, values...)
				values[i] = v
				want := (up - down) / complex(2*h, 0)
				if cmplx.Abs(grad[i]-want)*v > 1e-7*cmplx.Abs(want)*v+1e-9*cmplx.Abs(z) {
					t.Errorf("%s at %g Hz: slope by %s is %v, differences give %v", text, freqHz, c.unknowns[i].Name, grad[i], want)
				}
				checked++
			}
		}
	}
	if checked < 150 {
		t.Errorf("only %d slopes were checked", checked)
	}
}

// Every element is passive, and real at no frequency it should not be.
func TestElementsArePassive(t *testing.T) {
	for _, text := range []string{"R 5", "C 1u", "L 1m", "Q 1u^0.5", "W 3", "K 0.1^0.6", "S 0.1^1k", "E 1m^2k", "T 10u^3"} {
		for _, f := range []float64{1e-6, 1, 1e3, 1e6, 1e12} {
			z := mustParse(t, text).Impedance(f)
			if cmplx.IsNaN(z) || real(z) < 0 {
				t.Errorf("%s at %g Hz is %v", text, f, z)
			}
		}
	}
}

func TestOpenAndShort(t *testing.T) {
	for _, of := range []struct {
		text   string
		freqHz float64
		open   bool
		want   complex128
	}{
		{"C 1u", 0, true, 0}, {"R 1 + C 1u", 0, true, 0}, {"R 3 // C 1u", 0, false, 3},
		{"L 1 // R 3", 0, false, 0}, {"R 0 // C 0", 1e3, false, 0}, {"C 0 // C 0", 1e3, true, 0},
		{"C 0 // R 7", 50, false, 7}, {"S 2^1k", 0, false, 2}, {"E 1m^1k + R 1", 0, false, 1}, {"T 1u^3", 0, true, 0},
		{"W 1", 0, true, 0}, {"Q 1^0.5", 0, true, 0},
	} {
		z := mustParse(t, of.text).Impedance(of.freqHz)
		if cmplx.IsInf(z) != of.open || !of.open && cmplx.Abs(z-of.want) > 1e-12 {
			t.Errorf("%s at %g Hz is %v, want %v (open: %v)", of.text, of.freqHz, z, of.want, of.open)
		}
	}
	c := mustParse(t, "Rs + C")
	if !cmplx.IsNaN(c.Impedance(-1, 1, 1)) || !cmplx.IsNaN(c.Impedance(1, 1)) || !cmplx.IsNaN(c.Impedance(math.NaN(), 1, 1)) {
		t.Error("an impedance is given for a negative frequency or without values")
	}
	if z := new(Circuit).Impedance(50); z != 0 {
		t.Errorf("the zero Circuit has %v ohm", z)
	}
}

func TestWithPutsValuesIn(t *testing.T) {
	c := mustParse(t, "Rs + Qd // Rp")
	if got := c.With([]float64{50e-3}).String(); got != "R 50m + Qd // Rp" {
		t.Errorf("one value gives %q", got)
	}
	full := c.With([]float64{50e-3, 1e-6, 0.9, 1e3})
	if got := full.String(); got != "R 50m + Q 1e-06^0.9 // R 1k" {
		t.Errorf("all values give %q", got)
	}
	if a, b := full.Impedance(1e3), c.Impedance(1e3, 50e-3, 1e-6, 0.9, 1e3); a != b {
		t.Errorf("%v with values inside, %v with values beside", a, b)
	}
	if c.String() != "Rs + Qd // Rp" {
		t.Errorf("the circuit itself became %q", c)
	}
}

func TestNamedCircuits(t *testing.T) {
	seen := map[string]bool{}
	for _, n := range Named() {
		c, err := Parse(n.Notation)
		if err != nil {
			t.Errorf("%s: %v", n.Name, err)
			continue
		}
		if c.String() != n.Notation || n.Circuit().String() != n.Notation || len(c.unknowns) == 0 || n.About == "" || seen[n.Key] || strings.Contains(n.Key, " ") {
			t.Errorf("%q, key %q: notation %q is written %q", n.Name, n.Key, n.Notation, c)
		}
		seen[n.Key] = true
		if got, ok := NamedByKey(n.Key); !ok || got != n {
			t.Errorf("key %q finds %v", n.Key, got)
		}
	}
	if _, ok := NamedByKey("teapot"); ok {
		t.Error("an unknown key finds a circuit")
	}
}
