package circuit

import (
	_ "embed"
	"math"
	"strconv"
	"strings"
	"testing"
)

// Certified fits: the nonlinear regression sets of the NIST Statistical Reference
// Datasets. See testdata/README.md for where the figures come from.
//
//go:embed testdata/strd.txt
var strdText string

type strd struct {
	name                 string
	starts               [][]float64
	certified, deviation []float64
	sum                  float64
	x, y                 []float64
}

// strdModels are the model equations, by the names of the sets.
var strdModels = map[string]func(b []float64, x float64) float64{
	"Misra1a": func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Misra1b": func(b []float64, x float64) float64 { return b[0] * (1 - math.Pow(1+b[1]*x/2, -2)) },
	"Misra1c": func(b []float64, x float64) float64 { return b[0] * (1 - math.Pow(1+2*b[1]*x, -0.5)) },
	"Misra1d": func(b []float64, x float64) float64 { return b[0] * b[1] * x / (1 + b[1]*x) },
	"DanWood": func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
	"BoxBOD":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Rat42":   func(b []float64, x float64) float64 { return b[0] / (1 + math.Exp(b[1]-b[2]*x)) },
	"Rat43": func(b []float64, x float64) float64 {
		return b[0] / math.Pow(1+math.Exp(b[1]-b[2]*x), 1/b[3])
	},
	"MGH09": func(b []float64, x float64) float64 { return b[0] * (x*x + x*b[1]) / (x*x + x*b[2] + b[3]) },
	"MGH10": func(b []float64, x float64) float64 { return b[0] * math.Exp(b[1]/(x+b[2])) },
	"MGH17": func(b []float64, x float64) float64 {
		return b[0] + b[1]*math.Exp(-x*b[3]) + b[2]*math.Exp(-x*b[4])
	},
	"Thurber": func(b []float64, x float64) float64 {
		return (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / (1 + x*(b[4]+x*(b[5]+x*b[6])))
	},
	"Eckerle4": func(b []float64, x float64) float64 {
		return b[0] / b[1] * math.Exp(-0.5*math.Pow((x-b[2])/b[1], 2))
	},
	"Bennett5": func(b []float64, x float64) float64 { return b[0] * math.Pow(b[1]+x, -1/b[2]) },
	"Lanczos1": lanczos, "Lanczos2": lanczos, "Lanczos3": lanczos,
}

func lanczos(b []float64, x float64) float64 {
	return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-b[3]*x) + b[4]*math.Exp(-b[5]*x)
}

func TestCertifiedFits(t *testing.T) {
	sets := readStrd(t)
	if len(sets) < 16 {
		t.Fatalf("only %d sets were read", len(sets))
	}
	for _, set := range sets {
		for i, start := range set.starts {
			t.Run(set.name+" from start "+strconv.Itoa(i+1), func(t *testing.T) { set.check(t, start) })
		}
	}
}

func (set *strd) problem(start []float64) Problem {
	model := strdModels[set.name]
	return Problem{Start: start, Count: len(set.x), Residuals: func(dst, b []float64) {
		for i, x := range set.x {
			dst[i] = model(b, x) - set.y[i]
		}
	}}
}

// sixDigits is the agreement asked of every certified value.
const sixDigits = 1e-6

func (set *strd) check(t *testing.T, start []float64) {
	s, err := Solve(set.problem(start))
	if err != nil {
		t.Fatal(err)
	}
	if !s.Converged {
		t.Errorf("not converged after %d steps", s.Steps)
	}
	worst := 0.0
	for k, want := range set.certified {
		off := math.Abs(s.X[k]/want - 1)
		worst = max(worst, off)
		if !(off < sixDigits) {
			t.Errorf("b%d is %.11g, want %.11g", k+1, s.X[k], want)
		}
	}
	t.Logf("%d steps, %.1f digits, sum %.10e want %.10e", s.Steps, -math.Log10(worst), s.Sum, set.sum)
	if off := math.Abs(s.Sum/set.sum - 1); set.name != "Lanczos1" && off > sixDigits {
		t.Errorf("sum of squares is %.10e, want %.10e", s.Sum, set.sum)
	}
	set.checkDeviations(t, s)
}

// The standard deviations come from the same Jacobian that a circuit's do. Those of
// Lanczos1 are rounding errors of its data, 1e-13.
func (set *strd) checkDeviations(t *testing.T, s *Solution) {
	if set.name == "Lanczos1" {
		return
	}
	n := len(s.X)
	cov := inverseGram(s.Jacobian, n)
	for k, want := range set.deviation {
		got := math.Sqrt(cov.At(k, k) * s.Sum / float64(len(set.x)-n))
		if off := math.Abs(got/want - 1); !(off < sixDigits) {
			t.Errorf("standard deviation of b%d is %.11g, want %.11g", k+1, got, want)
		}
	}
}

func readStrd(t *testing.T) []*strd {
	t.Helper()
	var sets []*strd
	for _, line := range strings.Split(strdText, "\n") {
		fields := strings.Fields(line)
		if len(fields) == 0 {
			continue
		}
		if fields[0] == "set" {
			sets = append(sets, &strd{name: fields[1]})
			continue
		}
		set, numbers := sets[len(sets)-1], make([]float64, len(fields)-1)
		for i, f := range fields[1:] {
			var err error
			if numbers[i], err = strconv.ParseFloat(f, 64); err != nil {
				t.Fatal(err)
			}
		}
		switch fields[0] {
		case "start":
			set.starts = append(set.starts, numbers)
		case "certified":
			set.certified = numbers
		case "deviation":
			set.deviation = numbers
		case "sum":
			set.sum = numbers[0]
		case "point":
			set.x, set.y = append(set.x, numbers[0]), append(set.y, numbers[1])
		}
	}
	return sets
}
