package uncertain

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestCoverageFactorTable: JCGM 100:2008, Table G.2, recomputed to six decimals.
func TestCoverageFactorTable(t *testing.T) {
	file, err := os.Open("testdata/t-factors.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 29 {
		t.Fatalf("%d rows in the table, want a head and 28", len(rows))
	}
	for _, row := range rows[1:] {
		dof, err := strconv.ParseFloat(row[0], 64)
		if err != nil {
			t.Fatal(err)
		}
		for k, head := range rows[0][1:] {
			percent, err := strconv.ParseFloat(strings.TrimPrefix(head, "p"), 64)
			if err != nil {
				t.Fatal(err)
			}
			want, err := strconv.ParseFloat(row[k+1], 64)
			if err != nil {
				t.Fatal(err)
			}
			within(t, "t at "+head+" %, ν = "+row[0], CoverageFactor(percent/100, dof), want, 1e-6)
		}
	}
}

func TestCoverageFactorEdges(t *testing.T) {
	// JCGM 100:2008, Table G.2 prints 2.87 for 95.45 % and 4 degrees of freedom.
	within(t, "t_95.45(4)", CoverageFactor(0.9545, 4), 2.87, 0.005)
	within(t, "known u", CoverageFactor(0.95, 0), 1.959963984540, 1e-11)
	// The two formulas meet at knownDof, within (k²+1)k/(4ν) = 1.2e-6.
	within(t, "where t becomes normal", CoverageFactor(0.95, knownDof), CoverageFactor(0.95, 1.001*knownDof), 1.5e-6)
	for _, bad := range [][2]float64{{0, 4}, {1, 4}, {-1, 4}, {math.NaN(), 4}, {0.95, -1}, {0.95, math.NaN()}} {
		if k := CoverageFactor(bad[0], bad[1]); !math.IsNaN(k) {
			t.Errorf("CoverageFactor(%g, %g) = %g, want NaN", bad[0], bad[1], k)
		}
		if k := ComplexCoverageFactor(bad[0], bad[1]); !math.IsNaN(k) {
			t.Errorf("ComplexCoverageFactor(%g, %g) = %g, want NaN", bad[0], bad[1], k)
		}
	}
	if k := ComplexCoverageFactor(0.95, 1); !math.IsInf(k, 1) {
		t.Errorf("two repeats do not bound a complex mean: k = %g, want +Inf", k)
	}
}

// TestComplexCoverage: JCGM 102:2011, 6.5 (known covariance); Hotelling 1931 with
// quantiles of F (estimated), recomputed to ten digits.
func TestComplexCoverage(t *testing.T) {
	dofs := []float64{math.Inf(1), 4, 9, 19, 49}
	for p, want := range map[float64][]float64{
		0.6827: {1.51519476, 2.14436786, 1.729607139, 1.607697103, 1.549385899},
		0.90:   {2.145966026, 3.81658949, 2.64660437, 2.353602268, 2.221264143},
		0.95:   {2.447746831, 5.047004259, 3.16744104, 2.739354867, 2.552332589},
		0.99:   {3.034854259, 9.065174439, 4.411405552, 3.562851415, 3.219449529},
	} {
		for i, dof := range dofs {
			near(t, "k", ComplexCoverageFactor(p, dof), want[i], 1e-8)
		}
	}
}

// TestDivisors: JCGM 100:2008, 4.3.7 and 4.3.9; JCGM 101:2008, 6.4.
func TestDivisors(t *testing.T) {
	const ulps = 4e-16
	near(t, "rectangular", Rectangular.U(-1.5), 1.5/math.Sqrt(3), ulps)
	near(t, "triangular", Triangular.U(1.5), 1.5/math.Sqrt(6), ulps)
	near(t, "arcsine", Arcsine.U(1.5), 1.5/math.Sqrt(2), ulps)
	near(t, "trapezoid, top half of base", Trapezoid(0.5).U(1.5), 1.5/math.Sqrt(6/1.25), ulps)
	near(t, "normal, 95 %", Normal.U(1.5), 1.5/1.959963984540054, ulps)
	for _, s := range []Shape{Normal, Rectangular, Triangular, Arcsine} {
		near(t, "there and back", s.halfWidth(s.U(0.7)), 0.7, ulps)
	}
	if u := Shape(200).U(1); !math.IsNaN(u) {
		t.Errorf("unknown shape: u = %g, want NaN", u)
	}
}
