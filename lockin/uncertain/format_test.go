package uncertain

import (
	"fmt"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		value, u float64
		unit     string
		want     string
	}{
		{99.87e-9, 0.14e-9, "F", "99.87 nF ± 0.14 nF"},
		{-99.87e-9, 0.14e-9, "F", "-99.87 nF ± 0.14 nF"},
		{1000.02, 0.059, "Hz", "1.000020 kHz ± 0.000059 kHz"},
		{12.3456, 0.0996, "Ω", "12.35 Ω ± 0.10 Ω"}, // u rounds up to 0.10 and takes a place with it
		{12.3456, 0.0994, "Ω", "12.346 Ω ± 0.099 Ω"},
		{4.7e-3, 0.15e-3, "H", "4.70 mH ± 0.15 mH"},
		{3.3e-6, 12e-9, "A", "3.300 µA ± 0.012 µA"},
		{-0.78540, 0.00021, "rad", "-785.40 mrad ± 0.21 mrad"},
		{-89.95, 0.012, "deg", "-89.950 deg ± 0.012 deg"},
		{0.00031, 0.00012, "", "0.00031 ± 0.00012"},
		{1.23e-9, 0.04e-9, "", "1.230e-9 ± 0.040e-9"},
		{15, 150, "deg", "0.02e3 deg ± 0.15e3 deg"},
		{4.7e9, 0.1e9, "Ω", "4.70 GΩ ± 0.10 GΩ"},
		{4e-13, 1e-14, "F", "0.400 pF ± 0.010 pF"},

		// No zero that u does not carry.
		{230e3, 230e3, "Ω", "0.23 MΩ ± 0.23 MΩ"},
		{1234, 150, "Ω", "1.23 kΩ ± 0.15 kΩ"},
		// u above the value: the larger chooses the prefix.
		{0.3e-3, 20e-3, "Ω", "0 mΩ ± 20 mΩ"},
		{-0.3e-3, 20e-3, "Ω", "0 mΩ ± 20 mΩ"},
		{0.6e-3, 20e-3, "Ω", "1 mΩ ± 20 mΩ"},
		{5, 300, "Ω", "0.01 kΩ ± 0.30 kΩ"},
		{0, 1.2e-12, "F", "0.0 pF ± 1.2 pF"},
		// Beyond the prefixes.
		{3.2e15, 0.1e15, "Ω", "3.20e15 Ω ± 0.10e15 Ω"},
		{3.2e-18, 0.1e-18, "F", "3.20e-18 F ± 0.10e-18 F"},
		// More than a float64 can hold.
		{1, 1e-300, "V", "1.000000000000000 V ± 0.000000000000001 V"},
		{1e23, 1e6, "Ω", "99.99999999999999e21 Ω ± 0.00000000000001e21 Ω"}, // 1e23 is 9.99…e22 in binary
		// Exact.
		{1000, 0, "Ω", "1 kΩ"},
		{1e23, 0, "Ω", "100e21 Ω"},
		{150, 0, "Ω", "150 Ω"},
		{0, 0, "Ω", "0 Ω"},
		{0.25, 0, "", "0.25"},
		// Nothing known.
		{math.NaN(), 1, "Ω", "—"},
		{1, math.NaN(), "Ω", "—"},
		{1, math.Inf(1), "Ω", "—"},
		{math.Inf(1), 1, "Ω", "—"},
		{1, -1, "Ω", "—"},
	} {
		if got := Format(c.value, c.u, c.unit); got != c.want {
			t.Errorf("Format(%g, %g, %q) = %q, want %q", c.value, c.u, c.unit, got, c.want)
		}
	}
}

// neighbours returns the float64 values next below and next above a decimal
// number, which is rarely a float64 itself.
func neighbours(t *testing.T, text string) (below, above float64) {
	t.Helper()
	exact, ok := new(big.Rat).SetString(text)
	if !ok {
		t.Fatalf("%q is not a number", text)
	}
	below, _ = exact.Float64()
	above = below
	if new(big.Rat).SetFloat64(below).Cmp(exact) >= 0 {
		below = math.Nextafter(below, 0)
	}
	if new(big.Rat).SetFloat64(above).Cmp(exact) <= 0 {
		above = math.Nextafter(above, inf)
	}
	return below, above
}

// TestFormatPrefixEdges: the prefix changes exactly where the printed digits
// reach 1000, one unit of a float64's last place to either side.
func TestFormatPrefixEdges(t *testing.T) {
	names := []string{"p", "n", "µ", "m", "", "k", "M", "G"}
	for k := range len(names) - 1 {
		exponent := 3*k - 12
		for _, c := range []struct {
			edge                         string
			u                            float64
			below, uBelow, above, uAbove string
		}{
			{"999.5", 15, "999", "15", "1.000", "0.015"},
			{"999.95", 1.5, "999.9", "1.5", "1.0000", "0.0015"},
			{"999.995", 0.15, "999.99", "0.15", "1.00000", "0.00015"},
		} {
			below, above := neighbours(t, fmt.Sprintf("%se%d", c.edge, exponent))
			u := c.u * math.Pow10(exponent)
			want := fmt.Sprintf("%s %sV ± %s %sV", c.below, names[k], c.uBelow, names[k])
			if got := Format(below, u, "V"); got != want {
				t.Errorf("Format(%.17g, %g) = %q, want %q", below, u, got, want)
			}
			want = fmt.Sprintf("%s %sV ± %s %sV", c.above, names[k+1], c.uAbove, names[k+1])
			if got := Format(above, u, "V"); got != want {
				t.Errorf("Format(%.17g, %g) = %q, want %q", above, u, got, want)
			}
		}
	}
}

// TestFormatUncertaintyEdges: the uncertainty's own rounding to 1000 counts too.
func TestFormatUncertaintyEdges(t *testing.T) {
	below, above := neighbours(t, "99.5")
	if got := Format(0, below, "V"); got != "0 V ± 99 V" {
		t.Errorf("just below 99.5: %q", got)
	}
	if got := Format(0, above, "V"); got != "0.00 kV ± 0.10 kV" {
		t.Errorf("just above 99.5: %q", got)
	}
	below, above = neighbours(t, "995")
	if got := Format(0, below, "V"); got != "0.00 kV ± 0.99 kV" {
		t.Errorf("just below 995: %q", got)
	}
	if got := Format(0, above, "V"); got != "0.0 kV ± 1.0 kV" {
		t.Errorf("just above 995: %q", got)
	}
}

func TestFormatQuantity(t *testing.T) {
	for _, c := range []struct {
		q    Quantity
		unit string
		want string
	}{
		{Quantity{99.87e-9, 0.07e-9, 99.73e-9, 100.01e-9}, "F", "99.87 nF ± 0.14 nF"},
		{Quantity{99.87e-9, 0.07e-9, nan, nan}, "F", "99.87 nF ± 0.14 nF"},
		{Quantity{nan, nan, 12.04e6, inf}, "Ω", "> 12 MΩ"},
		{Quantity{nan, nan, 12.96e6, inf}, "Ω", "> 12 MΩ"}, // never promises more than the bound
		{Quantity{20e6, 3e6, 12.04e6, inf}, "Ω", "> 12 MΩ"},
		{Quantity{nan, nan, -inf, 0.000299}, "", "< 0.00030"},
		{Quantity{nan, nan, -inf, 0.000301}, "", "< 0.00031"},
		{Quantity{nan, nan, -inf, 0.000996}, "", "< 0.0010"},
		{Quantity{nan, nan, -12.04, inf}, "Ω", "> -13 Ω"},
		{Quantity{nan, nan, -inf, -12.96}, "Ω", "< -12 Ω"},
		{Quantity{nan, nan, 0, inf}, "Ω", "> 0 Ω"},
		{Quantity{nan, nan, 123456, inf}, "Ω", "> 120 kΩ"},
		{Quantity{nan, nan, -inf, inf}, "Ω", "—"},
		{Absent(), "F", "—"},
		{Quantity{nan, nan, 1000, 2000}, "Ω", "1.00 kΩ to 2.00 kΩ"},
		{Quantity{nan, nan, 2000, 1000}, "Ω", "—"},
		{Quantity{0.31e-3, 0.2e-3, 0.02e-3, 0.94e-3}, "Ω", "0.31 mΩ (0.02 to 0.94) mΩ"},
		{Quantity{0.0003, 0.0003, 0, 0.001}, "", "< 0.0010"}, // may as well be nothing
		{Quantity{0.0004, 0.0003, 0, 0.001}, "", "0.00040 (0.00000 to 0.00100)"},
		{Quantity{nan, nan, 0, 33e-9}, "H", "< 33 nH"},
		{Quantity{2, 0.1, 3, 1}, "Ω", "—"}, // ends the wrong way round
		{Quantity{}, "Ω", "0 Ω"},
		{Quantity{10e3, 0, 10e3, 10e3}, "Ω", "10 kΩ"},
	} {
		if got := FormatQuantity(c.q, c.unit); got != c.want {
			t.Errorf("FormatQuantity(%+v, %q) = %q, want %q", c.q, c.unit, got, c.want)
		}
	}
}

// written takes a printed number apart.
var written = regexp.MustCompile(`^(-?)(\d+)(?:\.(\d+))?(?:e(-?\d+))? ?(p|n|µ|m|k|M|G)?(?:Ω|F|Hz)?$`)

// read is the value of a printed number, its last decimal place, and how many
// significant digits it shows.
func read(text string) (value float64, place, digits int, err error) {
	m := written.FindStringSubmatch(text)
	if m == nil {
		return 0, 0, 0, fmt.Errorf("%q is not a number with a unit", text)
	}
	exponent := map[string]int{"p": -12, "n": -9, "µ": -6, "m": -3, "k": 3, "M": 6, "G": 9}[m[5]]
	if m[4] != "" {
		if exponent, err = strconv.Atoi(m[4]); err != nil {
			return 0, 0, 0, err
		}
	}
	value, err = strconv.ParseFloat(m[1]+m[2]+"."+m[3]+"0e"+strconv.Itoa(exponent), 64)
	return value, exponent - len(m[3]), len(strings.TrimLeft(m[2]+m[3], "0")), err
}

// checkFormat says what is wrong with the text for a value and an uncertainty.
func checkFormat(value, u float64, text string) error {
	left, right, ok := strings.Cut(text, " ± ")
	if !ok {
		return fmt.Errorf("no ± in %q", text)
	}
	v, place, _, err := read(left)
	if err != nil {
		return err
	}
	w, uPlace, digits, err := read(right)
	if err != nil {
		return err
	}
	// At most half a unit of the last place off; for u that float64 cannot tell
	// from the value, one unit. 1e-15 of the value for reading it back.
	unit := math.Pow(10, float64(place))
	switch slack := 1e-15 * math.Abs(value); {
	case place != uPlace:
		return fmt.Errorf("%q: the last places differ", text)
	case digits > 2 || digits < 1:
		return fmt.Errorf("%q: the uncertainty shows %d digits", text, digits)
	case digits == 1 && u > 1e-13*math.Abs(value):
		return fmt.Errorf("%q: the uncertainty shows one digit for no reason", text)
	case math.Abs(v-value) > 0.5000001*unit+slack:
		return fmt.Errorf("%q: the value is %.17g", text, value)
	case w < u*0.95 || math.Abs(w-u) > 1.0000001*unit:
		return fmt.Errorf("%q: the uncertainty is %.17g", text, u)
	case strings.HasPrefix(left, "-0 ") || v == 0 && strings.HasPrefix(left, "-"):
		return fmt.Errorf("%q: a negative zero", text)
	}
	return nil
}

func FuzzFormat(f *testing.F) {
	for _, v := range [][2]float64{
		{99.87e-9, 0.14e-9}, {999.95, 1.5}, {0, 1}, {-0.5, 10}, {1, 1e-300}, {1e300, 1e299}, {5e-324, 5e-324},
		{math.MaxFloat64, 1}, {0.5, 95}, {999.5, 15}, {1e22, 1e6}, {9.5, 99.5}, {-1e-320, 1e300},
	} {
		f.Add(v[0], v[1])
	}
	f.Fuzz(func(t *testing.T, value, u float64) {
		units := []string{"Ω", "F", "Hz", ""}
		for _, unit := range units {
			text := Format(value, u, unit)
			switch {
			case !finite(value) || !finite(u) || u < 0:
				if text != noValue {
					t.Errorf("Format(%g, %g) = %q", value, u, text)
				}
			case u == 0:
				if got, _, _, err := read(text); err != nil || math.Abs(got-value) > 1e-15*math.Abs(value) {
					t.Errorf("Format(%g, 0) = %q, %v", value, text, err)
				}
			case u >= 1e-307 && u < 1e300 && math.Abs(value) < 1e300: // where the check itself does not overflow
				if err := checkFormat(value, u, text); err != nil {
					t.Errorf("Format(%g, %g, %q): %v", value, u, unit, err)
				}
			}
		}
	})
}

// FuzzFormatQuantity: bounds are never rounded inwards, and nothing panics.
func FuzzFormatQuantity(f *testing.F) {
	f.Add(1.0, 0.1, 0.8, 1.3)
	f.Add(nan, nan, 12.96e6, inf)
	f.Add(nan, nan, -inf, -0.000301)
	f.Add(nan, nan, math.Inf(1), math.Inf(-1))
	f.Add(0.0, 0.0, -math.MaxFloat64, math.MaxFloat64)
	f.Add(1e300, 1.0, -5e-324, 5e-324)
	f.Fuzz(func(t *testing.T, value, u, low, high float64) {
		q := Quantity{value, u, low, high}
		text := FormatQuantity(q, "Ω")
		if text == "" || strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Errorf("%+v gave %q", q, text)
		}
		if math.Abs(low) > 1e300 || math.Abs(high) > 1e300 { // two digits of it may not be a float64
			return
		}
		// 2.3e-16: what reading the decimal back may add.
		if bound, ok := strings.CutPrefix(text, "> "); ok {
			if got, _, _, err := read(bound); err != nil || got > low+2.3e-16*math.Abs(low) {
				t.Errorf("%g gave %q, %v", low, text, err)
			}
		}
		if bound, ok := strings.CutPrefix(text, "< "); ok {
			if got, _, _, err := read(bound); err != nil || got < high-2.3e-16*math.Abs(high) {
				t.Errorf("%g gave %q, %v", high, text, err)
			}
		}
	})
}
