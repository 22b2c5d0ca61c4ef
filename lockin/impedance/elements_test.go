package impedance_test

import (
	"encoding/csv"
	"math"
	"math/cmplx"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/impedance"
)

// tableTol: the table has 13 digits, half a unit of the last is 5e-13 or less,
// and its inputs, rounded alike, are cancelled by nothing worse than a factor 10.
const tableTol = 1e-11

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s = %.15g, want %.15g within %g", what, got, want, tol)
	}
}

type row struct {
	name string
	col  map[string]float64
}

// table reads testdata/parts.csv; its README says where the figures come from.
func table(t *testing.T) []row {
	t.Helper()
	f, err := os.Open("testdata/parts.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil || len(records) != 13 {
		t.Fatalf("%d rows, %v", len(records), err)
	}
	var out []row
	for _, record := range records[1:] {
		r := row{name: record[0], col: map[string]float64{}}
		for i, text := range record[1:] {
			if r.col[records[0][i+1]], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, r)
	}
	return out
}

func checkElements(t *testing.T, e impedance.Elements, want map[string]float64) {
	t.Helper()
	for name, got := range map[string]float64{
		"Rs_ohm": e.SeriesOhm, "Xs_ohm": e.SeriesReactOhm, "absZ_ohm": e.ModulusOhm, "theta_deg": e.PhaseRad * 180 / math.Pi,
		"G_S": e.GS, "B_S": e.BS, "absY_S": math.Hypot(e.GS, e.BS), "Q": e.Q, "D": e.D, "Ls_H": e.SeriesH, "Cs_F": e.SeriesF,
		"Lp_H": e.ParallelH, "Cp_F": e.ParallelF, "Rp_ohm": e.ParallelOhm, "loss_angle_deg": math.Atan(e.D) * 180 / math.Pi,
		"ESR_ohm": e.SeriesOhm,
	} {
		near(t, name, got, want[name], tableTol)
	}
}

func TestElementsOfKnownParts(t *testing.T) {
	for _, r := range table(t) {
		t.Run(r.name, func(t *testing.T) {
			f := r.col["f_hz"]
			checkElements(t, impedance.Of(complex(r.col["Rs_ohm"], r.col["Xs_ohm"]), f), r.col)
			// And back: the parallel elements make the same impedance.
			y := complex(1/r.col["Rp_ohm"], 2*math.Pi*f*r.col["Cp_F"])
			checkElements(t, impedance.Of(1/y, f), r.col)
		})
	}
}

// identityTol: a handful of roundings of 1.1e-16, and D² or Q² besides.
const identityTol = 1e-14

func TestElementIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := func(name string, low, high float64) float64 {
			return math.Pow(10, rapid.Float64Range(low, high).Draw(t, name))
		}
		f, r, x := log("f", 0, 6), log("R", -3, 9), log("X", -3, 9)
		if rapid.Bool().Draw(t, "capacitive") {
			x = -x
		}
		e := impedance.Of(complex(r, x), f)
		check := func(what string, got, want float64) {
			if !(math.Abs(got-want) <= identityTol*math.Abs(want)) {
				t.Fatalf("%s: %.17g and %.17g", what, got, want)
			}
		}
		check("Cp = Cs/(1+D²)", e.ParallelF, e.SeriesF/(1+e.D*e.D))
		check("Lp = Ls(1+1/Q²)", e.ParallelH, e.SeriesH*(1+1/(e.Q*e.Q)))
		check("Rp = Rs(1+1/D²)", e.ParallelOhm, e.SeriesOhm*(1+1/(e.D*e.D)))
		check("Q = 1/D", e.Q, 1/e.D)
		omega := 2 * math.Pi * f
		check("Cs Ls = −1/ω²", e.SeriesF*e.SeriesH, -1/(omega*omega))
		check("Cp Lp = −1/ω²", e.ParallelF*e.ParallelH, -1/(omega*omega))
		if one := complex(r, x) * complex(e.GS, e.BS); cmplx.Abs(one-1) > identityTol {
			t.Fatalf("Z·Y = %v", one)
		}
	})
}

// A capacitor of 1000 µF with 50 mΩ and 20 nH: below resonance a capacitor that
// looks larger and larger in series and smaller and smaller in parallel, above it
// an inductance. Figures by hand from X = ωL − 1/(ωC), to the digits written.
func TestElectrolyticAlongFrequency(t *testing.T) {
	for _, c := range []struct{ f, x, seriesUF, parallelUF, d float64 }{
		{100, -1.591537, 1000.008, 999.022, 0.031416},
		{1000, -0.159029, 1000.790, 910.760, 0.314408},
		{10000, -0.014659, 1085.725, 85.935, 3.41091},
	} {
		omega := 2 * math.Pi * c.f
		e := impedance.Of(complex(0.05, omega*20e-9-1/(omega*1e-3)), c.f)
		near(t, "X", e.SeriesReactOhm, c.x, 5e-5)
		near(t, "Cs in µF", e.SeriesF*1e6, c.seriesUF, 6e-7)
		near(t, "Cp in µF", e.ParallelF*1e6, c.parallelUF, 6e-6)
		near(t, "D", e.D, c.d, 2e-5)
	}
	omega := 2 * math.Pi * 40e3
	e := impedance.Of(complex(0.05, omega*20e-9-1/(omega*1e-3)), 40e3)
	near(t, "Ls in nH at 40 kHz", e.SeriesH*1e9, 4.17, 5e-4)
}

func TestElementsAtTheEdges(t *testing.T) {
	short := impedance.Of(0, 1000)
	if short.ModulusOhm != 0 || !math.IsNaN(short.PhaseRad) || !math.IsNaN(short.Q) || !math.IsNaN(short.D) {
		t.Errorf("a short: %+v", short)
	}
	open := impedance.Of(cmplx.Inf(), 1000)
	if open.GS != 0 || open.BS != 0 || !math.IsInf(open.ModulusOhm, 1) || open.ParallelF != 0 {
		t.Errorf("an open: %+v", open)
	}
	ideal := impedance.Of(complex(0, -100), 1000)
	if ideal.D != 0 || !math.IsInf(ideal.Q, 1) {
		t.Errorf("an ideal capacitor: D %g, Q %g", ideal.D, ideal.Q)
	}
}
