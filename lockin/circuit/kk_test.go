package circuit

import (
	_ "embed"
	"encoding/json"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strconv"
	"testing"
)

// Worked cases of sums of relaxations, computed with 60 digits: see
// testdata/README.md.
//
//go:embed testdata/relaxations.json
var relaxationText []byte

type relaxationCases struct {
	FreqHz  []string               `json:"f_hz"`
	Data    map[string][][2]string `json:"data"`
	Results map[string][]struct {
		M    int
		Mu   string
		RInf string   `json:"R_inf"`
		R    []string `json:"R_k"`
		Tau  []string `json:"tau_k"`
		Sum  string   `json:"chi2"`
		Re   []string `json:"residuals_re"`
		Im   []string `json:"residuals_im"`
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// sweepOf returns a data set of the cases; those with drift rise by 5 % over the sweep.
func (c *relaxationCases) sweepOf(t *testing.T, name string) (freqHz []float64, z []complex128) {
	base := map[string]string{"two_rc_drift": "two_rc_clean", "zarc_noisy_drift": "zarc_noisy"}[name]
	if base == "" {
		base = name
	}
	for i, v := range c.Data[base] {
		freqHz = append(freqHz, number(t, c.FreqHz[i]))
		z = append(z, complex(number(t, v[0]), number(t, v[1])))
		if base != name {
			z[i] *= complex(1+0.05*float64(i)/30, 0)
		}
	}
	return freqHz, z
}

// Tolerances: the condition numbers are up to 6.5e3, so that rounding reaches 1e-12 of
// R_k relative to the largest; the data and their results are given to 12 digits.
func TestRelaxationsWorkedCases(t *testing.T) {
	cases := loadRelaxations(t)
	checked := 0
	for name, results := range cases.Results {
		freqHz, z := cases.sweepOf(t, name)
		for _, want := range results {
			got, err := RelaxationsOf(freqHz, z, want.M, RelaxationConfig{})
			if err != nil {
				t.Fatal(err)
			}
			near := func(what string, got float64, text string, tolerance float64) {
				t.Helper()
				checked++
				if w := number(t, text); !(math.Abs(got-w) <= tolerance) {
					t.Errorf("%s, %d relaxations: %s is %.12g, want %s", name, want.M, what, got, text)
				}
			}
			near("µ", got.Mu, want.Mu, 1e-7)
			near("R∞", got.RInf, want.RInf, 1e-7*math.Abs(got.RInf)+1e-6)
			near("sum", got.SumOfSquares, want.Sum, 1e-9)
			for k := range want.R {
				near("R", got.R[k], want.R[k], 1e-7*math.Abs(got.R[k])+1e-6)
				near("τ", got.TauS[k], want.Tau[k], 1e-9*got.TauS[k])
			}
			for i := range want.Re {
				near("residual, real", real(got.Residuals[i]), want.Re[i], digits(real(got.Residuals[i])))
				near("residual, imaginary", imag(got.Residuals[i]), want.Im[i], digits(imag(got.Residuals[i])))
			}
		}
	}
	if checked < 3500 {
		t.Errorf("only %d values were checked", checked)
	}
}

// digits is half a unit of the eighth digit, the last that residuals are given to.
func digits(x float64) float64 { return 1e-9 + 5e-8*math.Abs(x) }

func loadRelaxations(t *testing.T) *relaxationCases {
	t.Helper()
	c := &relaxationCases{}
	if err := json.Unmarshal(relaxationText, c); err != nil {
		t.Fatal(err)
	}
	return c
}

// consistent counts the verdicts over random circuits, each changed by spoil.
func verdicts(t *testing.T, each int, seed uint64, spoil func(d *Data)) map[Cause]int {
	t.Helper()
	random := rand.New(rand.NewPCG(seed, 2))
	freqHz := logFrequencies(20, 20e3, 31)
	count := map[Cause]int{}
	for _, text := range randomKinds {
		c := mustParse(t, text)
		for range each {
			d := noisy(c, drawValues(c, random), freqHz, 1e-3, random)
			if spoil != nil {
				spoil(d)
			}
			got, err := Check(d)
			if err != nil {
				t.Fatal(err)
			}
			count[got.Verdict]++
		}
	}
	return count
}

func driftBy(rel float64) func(*Data) {
	return func(d *Data) {
		d.AtS = make([]float64, len(d.Z))
		for i := range d.Z {
			d.AtS[i] = 3 * float64(i)
			d.Z[i] *= complex(1+rel*float64(i)/float64(len(d.Z)-1), 0)
		}
	}
}

func checkRates(t *testing.T, each int, seed uint64) {
	all := each * len(randomKinds)
	sound := verdicts(t, each, seed, nil)
	t.Logf("sound: %v", sound)
	if sound[Consistent] < all*95/100 {
		t.Errorf("of %d sound sweeps %v", all, sound)
	}
	for _, rel := range []float64{0.01, 0.05} {
		drift := verdicts(t, each, seed+1, driftBy(rel))
		t.Logf("drift of %g: %v", rel, drift)
		// One in ten may pass; in a short run three standard deviations of the count more.
		most := all / 10
		if !*soak {
			most += int(3 * math.Sqrt(0.09*float64(all)))
		}
		if drift[Consistent] > most {
			t.Errorf("of %d sweeps with a drift of %g %v", all, rel, drift)
		}
	}
}

func TestCheckTellsDriftFromSound(t *testing.T) { checkRates(t, 2, 1) }

func TestSoakCheckTellsDriftFromSound(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	checkRates(t, 40, 21)
}

// A class-2 capacitor loses capacitance with the voltage across it, here 12 % of it
// per volt at 1 V, behind a resistor that takes the voltage at high frequencies.
func TestCheckTellsLevel(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	told := map[Cause]int{}
	for range 4 {
		told[classTwo(t, random).Verdict]++
	}
	t.Logf("class 2: %v", told)
	if told[DependsOnLevel] < 4 {
		t.Errorf("verdicts %v, want 'depends on level'", told)
	}
}

func classTwo(t *testing.T, random *rand.Rand) *Consistency {
	t.Helper()
	freqHz := logFrequencies(20, 20e3, 31)
	d := &Data{FreqHz: freqHz}
	for _, f := range freqHz {
		level, z := 1.0, complex(0, 0)
		for range 30 { // the level depends on Z and Z on the level
			c := 1e-6 * (1 - 0.12*level)
			z = complex(0.5, -1/(2*math.Pi*f*c)) / complex(1, -0.02)
			level = cmplx.Abs(z / (z + 1000))
		}
		d.Z, d.LevelV = append(d.Z, z), append(d.LevelV, level)
	}
	d.Cov = Relative(d.Z, 1e-3)
	for i, z := range d.Z {
		d.Z[i] += complex(1e-3*cmplx.Abs(z)*random.NormFloat64(), 1e-3*cmplx.Abs(z)*random.NormFloat64())
	}
	c, err := Check(d)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
