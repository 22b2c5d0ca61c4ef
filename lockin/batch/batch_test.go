package batch

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/wheatear/lockin/parts"
)

func TestBins(t *testing.T) {
	for _, c := range []struct {
		bins  string
		value float64
		u     float64
		want  string
		least float64
	}{
		{"E12", 101e-9, 0.1e-9, "100n", 0.99}, {"E12", 109e-9, 0.1e-9, "100n", 0.9}, {"E12", 110e-9, 0.1e-9, "120n", 0.9}, {"e24", 4.69e3, 1, "4k7", 0.99},
		{"1%,5%,10%", 100.5e-9, 0.05e-9, "1%", 0.99}, {"1%,5%,10%", 97e-9, 0.1e-9, "5%", 0.99}, {"1%,5%,10%", 107e-9, 0.1e-9, "10%", 0.99},
		{"1%,5%,10%", 120e-9, 0.1e-9, Outside, 0.99}, {"1%,5%", 100.9e-9, 0.3e-9, "1%", 0.45},
		{"90n..100n,100n..110n", 95e-9, 0.1e-9, "90n..100n", 0.99}, {"90n..100n,100n..110n", 80e-9, 0.1e-9, Outside, 0.99},
		{"90n..100n,100n..110n", 100e-9, 1e-9, "90n..100n", 0.45}, {"E12", math.NaN(), 1, Outside, 1}, {"E12", 100e-9, 0, "100n", 1},
	} {
		unit := parts.Farad
		if c.value > 1 {
			unit = parts.Ohm
		}
		b, err := ParseBins(c.bins, 100e-9, unit)
		if err != nil {
			t.Errorf("%s: %v", c.bins, err)
			continue
		}
		if name, p := b.Of(c.value, c.u); name != c.want || p < c.least || p > 1+1e-12 {
			t.Errorf("%s: %g goes to %s with %.2f, want %s with at least %.2f", c.bins, c.value, name, p, c.want, c.least)
		}
	}
	for _, text := range []string{"", "x", "5%,1%", "10n..5n", "1n..2n,1.5n..3n", "5%,1n..2n", "E7", "200%"} {
		if b, err := ParseBins(text, 100e-9, parts.Farad); err == nil {
			t.Errorf("%q: %+v", text, b)
		}
	}
	if _, err := ParseBins("5%", 0, parts.Farad); err == nil {
		t.Error("a tolerance of nothing: no error")
	}
}

func TestBinsInOrder(t *testing.T) {
	for _, c := range []struct {
		bins  string
		names []string
		want  []string
	}{
		{"1%,5%,10%", []string{Outside, "10%", "1%", "5%"}, []string{"1%", "5%", "10%", Outside}},
		{"E12", []string{"1u", "100n", "82n", "120n"}, []string{"82n", "100n", "120n", "1u"}},
		{"90n..100n,100n..110n", []string{Outside, "100n..110n", "90n..100n"}, []string{"90n..100n", "100n..110n", Outside}},
	} {
		b, err := ParseBins(c.bins, 100e-9, parts.Farad)
		if err != nil {
			t.Fatal(err)
		}
		if b.Sort(c.names); !slices.Equal(c.names, c.want) {
			t.Errorf("%s: %v, want %v", c.bins, c.names, c.want)
		}
	}
}

// The spread of the parts is found with the measurement's share out, and outliers do
// not count; its uncertainty is what the estimates scatter by.
func TestSpreadOfARun(t *testing.T) {
	const n, sd, runs = 46, 2.0, 400
	honest := 0 // parts that are called outliers
	for _, u := range []float64{0.05, 1, 2} {
		var ratios, claimed []float64
		for seed := range uint64(runs) {
			rng := rand.New(rand.NewPCG(seed, 3))
			var list []Measured
			for range n {
				list = append(list, Measured{100 + sd*rng.NormFloat64() + u*rng.NormFloat64(), u})
			}
			for _, far := range []float64{60, 135, 150, 20} {
				list = append(list, Measured{far, u})
			}
			s := SpreadOf(list, parts.Limits{})
			if !slices.Equal(s.Outliers[max(0, len(s.Outliers)-4):], []int{n, n + 1, n + 2, n + 3}) {
				t.Fatalf("u %g, seed %d: outliers %v", u, seed, s.Outliers)
			}
			honest += len(s.Outliers) - 4
			ratios = append(ratios, s.SD/sd)
			claimed = append(claimed, s.SDU/sd)
		}
		mean, scatter := moments(ratios)
		meanClaimed, _ := moments(claimed)
		if math.Abs(mean-1) > 0.04 {
			t.Errorf("u %g: the spread comes out %.3f times what it is", u, mean)
		}
		if scatter < 0.7*meanClaimed || scatter > 1.4*meanClaimed {
			t.Errorf("u %g: the spread scatters by %.3f and claims %.3f", u, scatter, meanClaimed)
		}
	}
	if honest > 3*runs/100 {
		t.Errorf("%d honest parts of %d runs are called outliers", honest, 3*runs)
	}
	if s := SpreadOf([]Measured{{1, 0}, {1, 0}, {1, 0}}, parts.Limits{}); s.SD != 0 || s.N != 3 {
		t.Errorf("equal parts: %+v", s)
	}
	if s := SpreadOf([]Measured{{1, 1}, {2, 1}, {math.NaN(), 1}}, parts.Limits{}); s.N != 2 || !slices.Equal(s.Outliers, []int{2}) {
		t.Errorf("a part that was not read: %+v", s)
	}
	if s := SpreadOf(nil, parts.Limits{}); s.N != 0 || !math.IsNaN(s.Mean) {
		t.Errorf("no parts: %+v", s)
	}
}

func moments(list []float64) (mean, sd float64) {
	for _, v := range list {
		mean += v / float64(len(list))
	}
	for _, v := range list {
		sd += (v - mean) * (v - mean) / float64(len(list)-1)
	}
	return mean, math.Sqrt(sd)
}
