package circuit

import (
	_ "embed"
	"encoding/json"
	"math"
	"testing"
)

// Fits done by an independent program: see testdata/README.md.
//
//go:embed testdata/other.json
var otherText []byte

// ruled is noise by a rule that any language repeats exactly.
func ruled(k int) complex128 {
	a := float64((7*k*k+3*k)%17-8) / 8
	b := float64((5*k*k+11*k)%13-6) / 6
	return complex(a, b)
}

func TestFitAgainstAnotherProgram(t *testing.T) {
	var file map[string]json.RawMessage
	if err := json.Unmarshal(otherText, &file); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"Cp // (Rs + L // Rc)", "Rs + Q // Rp"} {
		var want struct {
			True, Values, U []float64
			Chi2            float64
		}
		if err := json.Unmarshal(file[text], &want); err != nil {
			t.Fatal(err)
		}
		r := fitRuled(t, text, want.True)
		// Their step of differences limits them to about 1e-8 of a standard uncertainty.
		for i, p := range r.Parameters {
			if math.Abs(p.Estimate-want.Values[i]) > 1e-4*want.U[i] {
				t.Errorf("%s: %s is %.10g, want %.10g", text, p.Name, p.Estimate, want.Values[i])
			}
			if math.Abs(p.U/want.U[i]-1) > 1e-4 {
				t.Errorf("%s: u(%s) is %.7g, want %.7g", text, p.Name, p.U, want.U[i])
			}
		}
		if math.Abs(r.ChiSquare/want.Chi2-1) > 1e-8 {
			t.Errorf("%s: chi-square is %.10g, want %.10g", text, r.ChiSquare, want.Chi2)
		}
	}
}

func fitRuled(t *testing.T, text string, values []float64) *Result {
	t.Helper()
	c := mustParse(t, text)
	d := &Data{}
	for k := range 31 {
		f := 20 * math.Pow(10, float64(k)/10)
		d.FreqHz, d.Z = append(d.FreqHz, f), append(d.Z, c.Impedance(f, values...))
	}
	d.Cov = Relative(d.Z, 1e-3)
	for k := range d.Z {
		d.Z[k] *= 1 + 1e-3*ruled(k)
	}
	r, err := Fit(c, d, FitConfig{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}
