package impedance_test

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Whatever the impedance and however bad its noise: nothing negative where
// nothing negative can be, no NaN in the JSON, intervals in order, and the
// equivalents true to each other.
func TestEveryReadingKeepsItsForm(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		log := func(name string, low, high float64) float64 {
			return math.Pow(10, rapid.Float64Range(low, high).Draw(rt, name))
		}
		z := cmplx.Rect(log("modulus", -4, 9), rapid.Float64Range(-math.Pi/2, math.Pi/2).Draw(rt, "phase"))
		uRe, uIm := cmplx.Abs(z)*log("uRe", -9, 2), cmplx.Abs(z)*log("uIm", -9, 2)
		z += complex(uRe*rapid.Float64Range(-3, 3).Draw(rt, "re"), uIm*rapid.Float64Range(-3, 3).Draw(rt, "im"))
		f := log("f", 0, 5.3)
		r, err := impedance.Derive(measured(z, uRe, uIm, f, 1e-5*f), plain, impedance.Config{Trials: 1000})
		if err != nil {
			rt.Fatal(err)
		}
		checkSane(t, r)
		checkIdentities(t, r)
		if t.Failed() {
			rt.Fatalf("with z = %v, u = %g and %g, f = %g", z, uRe, uIm, f)
		}
	})
}

// checkIdentities ties the values of a reading together where they exist.
func checkIdentities(t *testing.T, r impedance.Reading) {
	t.Helper()
	const tol = 1e-9 // rounding, with D² or Q² up to where a value is given at all
	same := func(what string, a, b float64) {
		t.Helper()
		if !math.IsNaN(a) && !math.IsNaN(b) {
			near(t, what, a, b, tol)
		}
	}
	d, q := r.D.Value, r.Q.Value
	same("Q·D", q*d, 1)
	same("|Z|·|Y|", r.Modulus.Value*r.Y.Modulus.Value, 1)
	if r.Re.Value > 0 {
		same("Cp = Cs/(1+D²)", r.Parallel.C.Value, r.Series.C.Value/(1+d*d))
		same("Lp = Ls(1+D²)", r.Parallel.L.Value, r.Series.L.Value*(1+d*d))
		same("Rp = Rs(1+Q²)", r.Parallel.R.Value, r.Series.R.Value*(1+q*q))
	}
	if z, y := complex(r.Re.Value, r.Im.Value), complex(r.Y.G.Value, r.Y.B.Value); !cmplx.IsNaN(z) && !cmplx.IsNaN(y) {
		near(t, "|Z·Y|", cmplx.Abs(z*y), 1, tol)
	}
}

// C and L exclude each other wherever one of them has a value.
func TestCapacitanceAndInductanceExcludeEachOther(t *testing.T) {
	for _, c := range []struct {
		x    float64
		c, l bool
	}{{-10, true, false}, {10, false, true}, {0.5, false, false}, {-0.5, false, false}} {
		r := derive(t, measured(complex(100, c.x), 1, 1, 1000, 0.01), plain)
		for name, e := range map[string]impedance.Equivalent{"series": r.Series, "parallel": r.Parallel} {
			if math.IsNaN(e.C.Value) == c.c || math.IsNaN(e.L.Value) == c.l {
				t.Errorf("X = %g, %s: C %+v, L %+v", c.x, name, e.C, e.L)
			}
			if (c.c && !e.L.IsAbsent()) || (c.l && !e.C.IsAbsent()) {
				t.Errorf("X = %g, %s: the other element is not absent", c.x, name)
			}
		}
	}
}

// The keys that others read, and null for what is absent.
func TestReportKeys(t *testing.T) {
	r := derive(t, measured(complex(1, -100), 0.01, 0.01, 1000, 0.01), plain)
	text, err := json.Marshal(r.Report())
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{
		"":  {"frequency_hz", "state", "z", "y", "series", "parallel", "q", "d", "dominant", "judged"},
		"z": {"re_ohm", "im_ohm", "correlation", "modulus_ohm", "phase_rad"}, "series": {"r_ohm", "c_f", "l_h"},
		"parallel": {"r_ohm", "c_f", "l_h"}, "q": {"value", "u", "low", "high"},
	}
	for at, keys := range want {
		object := got
		if at != "" {
			object = got[at].(map[string]any)
		}
		if len(object) != len(keys) {
			t.Errorf("%q has %d keys, want %v", at, len(object), keys)
		}
		for _, key := range keys {
			if _, ok := object[key]; !ok {
				t.Errorf("%q has no %q", at, key)
			}
		}
	}
	if got["dominant"] != "capacitor" || got["state"] != "ok" || got["series"].(map[string]any)["l_h"] != nil {
		t.Errorf("%s", text)
	}
}

func TestReportOfNothing(t *testing.T) {
	text, err := json.Marshal(impedance.Void(uncertain.Absent()).Report())
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"frequency_hz":null,"state":"no-signal","z":{"re_ohm":null,"im_ohm":null,"correlation":null,` +
		`"modulus_ohm":null,"phase_rad":null},"y":{"g_s":null,"b_s":null,"modulus_s":null},"series":{"r_ohm":null,"c_f":null,"l_h":null},` +
		`"parallel":{"r_ohm":null,"c_f":null,"l_h":null},"q":null,"d":null,"dominant":null}`
	if strings.TrimSpace(string(text)) != want {
		t.Errorf("got %s\nwant %s", text, want)
	}
}
