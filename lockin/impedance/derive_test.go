package impedance_test

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// plain is the simplest model: Z and frequency are the inputs themselves.
func plain(dst, x []float64) { copy(dst, x[:3]) }

// measured describes z with independent normal noise on both axes.
func measured(z complex128, uRe, uIm, freqHz, uHz float64) *uncertain.Inputs {
	var in uncertain.Inputs
	in.Add("re", real(z), uRe)
	in.Add("im", imag(z), uIm)
	in.Add("clock", freqHz, uHz)
	return &in
}

func derive(t *testing.T, in *uncertain.Inputs, f uncertain.Func) impedance.Reading {
	t.Helper()
	r, err := impedance.Derive(in, f, impedance.Config{})
	if err != nil {
		t.Fatal(err)
	}
	checkSane(t, r)
	return r
}

// checkSane wants what every reading must keep to, whatever it is a reading of.
func checkSane(t *testing.T, r impedance.Reading) {
	t.Helper()
	text, err := json.Marshal(r.Report())
	if err != nil || !json.Valid(text) || strings.Contains(string(text), "NaN") || strings.Contains(string(text), "Inf") {
		t.Errorf("JSON: %s, %v", text, err)
	}
	bounded := map[string]uncertain.Quantity{
		"|Z|": r.Modulus, "|Y|": r.Y.Modulus, "Rs": r.Series.R, "Rp": r.Parallel.R, "Cs": r.Series.C, "Cp": r.Parallel.C,
		"Ls": r.Series.L, "Lp": r.Parallel.L, "Q": r.Q, "D": r.D,
	}
	for name, q := range bounded {
		if q.Value < 0 || q.U < 0 || q.High < 0 || (q.Low < 0 && !math.IsInf(q.Low, -1)) {
			t.Errorf("%s is negative: %+v", name, q)
		}
		if q.Low > q.High || q.Value < q.Low || q.Value > q.High {
			t.Errorf("%s out of order: %+v", name, q)
		}
	}
}

func absent(t *testing.T, what string, q uncertain.Quantity) {
	t.Helper()
	if !q.IsAbsent() {
		t.Errorf("%s = %+v, want none", what, q)
	}
}

// inside wants a value and an interval about the truth.
func inside(t *testing.T, what string, q uncertain.Quantity, truth float64) {
	t.Helper()
	if !(q.Low <= truth && truth <= q.High) || math.IsNaN(q.Value) {
		t.Errorf("%s = %+v does not hold %g", what, q, truth)
	}
}

// halfWidth wants q.Value ± half, each end to within tol of half.
func halfWidth(t *testing.T, what string, q uncertain.Quantity, half, tol float64) {
	t.Helper()
	near(t, what+" below", q.Value-q.Low, half, tol)
	near(t, what+" above", q.High-q.Value, half, tol)
}

// endTol is three standard deviations of the end of a 95 % interval of a normal
// sample of 10000: √(0.025·0.975/10000)/φ(1.96) = 0.027 u, of 1.96 u.
const endTol = 3 * 0.027 / 1.96

// With next to no uncertainty every derived value is that of the table.
func TestReadingOfKnownParts(t *testing.T) {
	for _, row := range table(t) {
		t.Run(row.name, func(t *testing.T) {
			z := complex(row.col["Rs_ohm"], row.col["Xs_ohm"])
			u := 1e-9 * row.col["absZ_ohm"]
			// The part with D = 1/400 has R known to u/R = 4e-7 only; it is the value that is checked.
			r := derive(t, measured(z, u, u, row.col["f_hz"], 1e-9), plain)
			for name, q := range map[string]uncertain.Quantity{
				"Rs_ohm": r.Series.R, "absZ_ohm": r.Modulus, "G_S": r.Y.G, "B_S": r.Y.B, "absY_S": r.Y.Modulus,
				"Q": r.Q, "D": r.D, "Rp_ohm": r.Parallel.R, "Xs_ohm": r.Im,
			} {
				near(t, name, q.Value, row.col[name], tableTol)
			}
			near(t, "theta_deg", r.Phase.Value*180/math.Pi, row.col["theta_deg"], tableTol)
			checkReactances(t, r, row)
		})
	}
}

func checkReactances(t *testing.T, r impedance.Reading, row row) {
	t.Helper()
	if row.col["Xs_ohm"] < 0 {
		near(t, "Cs_F", r.Series.C.Value, row.col["Cs_F"], tableTol)
		near(t, "Cp_F", r.Parallel.C.Value, row.col["Cp_F"], tableTol)
		absent(t, "Ls", r.Series.L)
		absent(t, "Lp", r.Parallel.L)
		return
	}
	near(t, "Ls_H", r.Series.L.Value, row.col["Ls_H"], tableTol)
	near(t, "Lp_H", r.Parallel.L.Value, row.col["Lp_H"], tableTol)
	absent(t, "Cs", r.Series.C)
	absent(t, "Cp", r.Parallel.C)
}

// u of the derived quantities against partial derivatives written out by hand.
func TestUncertaintiesAreFirstOrder(t *testing.T) {
	const re, im, f = 30.0, -400.0, 2000.0
	const uRe, uIm, uF, corr = 0.02, 0.05, 0.4, 0.6
	var in uncertain.Inputs
	cov := mat.NewSymDense(2, []float64{uRe * uRe, corr * uRe * uIm, corr * uRe * uIm, uIm * uIm})
	in.AddJoint("noise", []float64{re, im}, cov, 0)
	in.Add("clock", f, uF)
	r := derive(t, &in, plain)
	combined := func(dRe, dIm, dF float64) float64 {
		return math.Sqrt(dRe*dRe*uRe*uRe + dIm*dIm*uIm*uIm + 2*corr*dRe*dIm*uRe*uIm + dF*dF*uF*uF)
	}
	const m2 = re*re + im*im
	m, omega := math.Sqrt(m2), 2*math.Pi*f
	cs, cp := -1/(omega*im), -im/(omega*m2)
	const tol = 1e-6 // of fourth-order differences over u/4, where u is 1e-3 of the value
	near(t, "u|Z|", r.Modulus.U, combined(re/m, im/m, 0), tol)
	near(t, "u phase", r.Phase.U, combined(-im/m2, re/m2, 0), tol)
	near(t, "u Cs", r.Series.C.U, combined(0, cs/im, cs/f), tol)
	near(t, "u Cp", r.Parallel.C.U, combined(2*im*re/(omega*m2*m2), (im*im-re*re)/(omega*m2*m2), cp/f), tol)
	near(t, "u D", r.D.U, combined(-1/im, re/(im*im), 0), tol)
	near(t, "u Q", r.Q.U, combined(im/(re*re), -1/re, 0), tol)
	near(t, "u Rp", r.Parallel.R.U, combined(1-im*im/(re*re), 2*im/re, 0), tol)
	near(t, "u G", r.Y.G.U, combined((im*im-re*re)/(m2*m2), -2*re*im/(m2*m2), 0), tol)
	near(t, "correlation", r.Correlation, corr, tol)
	near(t, "u f", r.FreqHz.U, uF, tol)
}

func TestIntervalsFollowTheirInputs(t *testing.T) {
	t.Run("normal", func(t *testing.T) {
		r := derive(t, measured(complex(100, -200), 0.1, 0.3, 1000, 0.01), plain)
		halfWidth(t, "R", r.Series.R, 1.96*0.1, endTol)
		halfWidth(t, "X", r.Im, 1.96*0.3, endTol)
		halfWidth(t, "f", r.FreqHz, 1.96*0.01, endTol)
	})
	t.Run("few degrees of freedom", func(t *testing.T) {
		var in uncertain.Inputs
		in.AddJoint("repeats", []float64{100, -200}, mat.NewSymDense(2, []float64{0.01, 0, 0, 0.01}), 3)
		r := derive(t, &in, func(dst, x []float64) { dst[0], dst[1], dst[2] = x[0], x[1], 1000 })
		// t_0.975(3) = 3.182 (JCGM 100:2008, table G.2); heavy tails make its end
		// three times as uncertain as a normal one.
		halfWidth(t, "R", r.Series.R, 3.182*0.1, 3*endTol)
		near(t, "u", r.Series.R.U, 0.1, 1e-9)
	})
	t.Run("rectangular tolerance", func(t *testing.T) {
		var in uncertain.Inputs
		in.Add("reference", 1000, uncertain.Rectangular.U(1), uncertain.Rectangular)
		r := derive(t, &in, func(dst, x []float64) { dst[0], dst[1], dst[2] = x[0], -x[0], 1000 })
		halfWidth(t, "R", r.Series.R, 0.95, 0.02) // and not 1.13, twice u
	})
}

func TestQuantitiesScale(t *testing.T) {
	a := derive(t, measured(complex(3, -40), 0.1, 0.2, 1000, 0.1), plain)
	b := derive(t, measured(complex(3000, -40000), 100, 200, 10000, 1), plain)
	for what, q := range map[string][2]uncertain.Quantity{
		"|Z|": {a.Modulus, b.Modulus}, "Cs": {b.Series.C, a.Series.C}, "Cp": {b.Parallel.C, a.Parallel.C},
		"Rp": {a.Parallel.R, b.Parallel.R}, "D": {a.D, b.D}, "Q": {a.Q, b.Q}, "phase": {a.Phase, b.Phase},
	} {
		scale := map[string]float64{"|Z|": 1e3, "Cs": 1e4, "Cp": 1e4, "Rp": 1e3, "D": 1, "Q": 1, "phase": 1}[what]
		const tol = 1e-9 // differences of roundings, magnified by steps of u/8
		near(t, what, q[1].Value, q[0].Value*scale, tol)
		near(t, what+" u", q[1].U, q[0].U*scale, tol)
		near(t, what+" low", q[1].Low, q[0].Low*scale, tol)
		near(t, what+" high", q[1].High, q[0].High*scale, tol)
	}
}

func TestDeriveIsDeterministic(t *testing.T) {
	in := measured(complex(3, -40), 1, 2, 1000, 0.1)
	a, b := derive(t, in, plain), derive(t, in, plain)
	first, _ := json.Marshal(a.Report())
	second, _ := json.Marshal(b.Report())
	if string(first) != string(second) {
		t.Errorf("two runs differ:\n%s\n%s", first, second)
	}
	c, err := impedance.Derive(in, plain, impedance.Config{Seed: 7})
	if err != nil || c.Modulus.Low == a.Modulus.Low {
		t.Errorf("the seed has no effect: %v, %v", c.Modulus, err)
	}
}

func TestDeriveRefuses(t *testing.T) {
	good := measured(complex(3, -40), 1, 2, 1000, 0.1)
	constant := func(re, im, f float64) uncertain.Func {
		return func(dst, _ []float64) { dst[0], dst[1], dst[2] = re, im, f }
	}
	mostGone := func(dst, x []float64) {
		plain(dst, x)
		if x[0] != 3 && x[1] < -39 {
			dst[0] = math.NaN()
		}
	}
	var bad uncertain.Inputs
	bad.Add("u", 1, -1)
	for _, c := range []struct {
		name  string
		in    *uncertain.Inputs
		f     uncertain.Func
		cfg   impedance.Config
		model bool
	}{
		{"no inputs", nil, plain, impedance.Config{}, true},
		{"no function", good, nil, impedance.Config{}, true},
		{"bad input", &bad, plain, impedance.Config{}, false},
		{"NaN", good, constant(math.NaN(), 0, 1000), impedance.Config{}, true},
		{"no frequency", good, constant(1, 1, 0), impedance.Config{}, true},
		{"infinite frequency", good, constant(1, 1, math.Inf(1)), impedance.Config{}, true},
		{"most trials spoilt", good, mostGone, impedance.Config{}, true},
		{"too few trials", good, plain, impedance.Config{Trials: 10}, false},
		{"limits exchanged", good, plain, impedance.Config{SeriesBelowOhm: 100, ParallelAboveOhm: 10}, false},
	} {
		_, err := impedance.Derive(c.in, c.f, c.cfg)
		if err == nil || !strings.HasPrefix(err.Error(), "impedance: ") || errors.Is(err, impedance.ErrModel) != c.model {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func BenchmarkDerive(b *testing.B) {
	in := measured(complex(3, -40), 0.01, 0.02, 1000, 0.1)
	for range 17 {
		in.Add("more", 0, 0.001)
	}
	f := func(dst, x []float64) {
		plain(dst, x)
		for _, v := range x[3:] {
			dst[0] += v
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := impedance.Derive(in, f, impedance.Config{}); err != nil {
			b.Fatal(err)
		}
	}
}
