package circuit

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

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
