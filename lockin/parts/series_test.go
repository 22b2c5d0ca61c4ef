package parts_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

// The lists of IEC 60063:2015, written out.
var preferred = map[parts.Series]string{
	parts.E3:  "1.0 2.2 4.7",
	parts.E6:  "1.0 1.5 2.2 3.3 4.7 6.8",
	parts.E12: "1.0 1.2 1.5 1.8 2.2 2.7 3.3 3.9 4.7 5.6 6.8 8.2",
	parts.E24: "1.0 1.1 1.2 1.3 1.5 1.6 1.8 2.0 2.2 2.4 2.7 3.0 3.3 3.6 3.9 4.3 4.7 5.1 5.6 6.2 6.8 7.5 8.2 9.1",
	parts.E48: `1.00 1.05 1.10 1.15 1.21 1.27 1.33 1.40 1.47 1.54 1.62 1.69 1.78 1.87 1.96 2.05 2.15 2.26 2.37 2.49 2.61 2.74
2.87 3.01 3.16 3.32 3.48 3.65 3.83 4.02 4.22 4.42 4.64 4.87 5.11 5.36 5.62 5.90 6.19 6.49 6.81 7.15 7.50 7.87 8.25 8.66 9.09 9.53`,
	parts.E96: `1.00 1.02 1.05 1.07 1.10 1.13 1.15 1.18 1.21 1.24 1.27 1.30 1.33 1.37 1.40 1.43 1.47 1.50 1.54 1.58 1.62 1.65
1.69 1.74 1.78 1.82 1.87 1.91 1.96 2.00 2.05 2.10 2.15 2.21 2.26 2.32 2.37 2.43 2.49 2.55 2.61 2.67 2.74 2.80 2.87 2.94 3.01 3.09
3.16 3.24 3.32 3.40 3.48 3.57 3.65 3.74 3.83 3.92 4.02 4.12 4.22 4.32 4.42 4.53 4.64 4.75 4.87 4.99 5.11 5.23 5.36 5.49 5.62 5.76
5.90 6.04 6.19 6.34 6.49 6.65 6.81 6.98 7.15 7.32 7.50 7.68 7.87 8.06 8.25 8.45 8.66 8.87 9.09 9.31 9.53 9.76`,
	parts.E192: `1.00 1.01 1.02 1.04 1.05 1.06 1.07 1.09 1.10 1.11 1.13 1.14 1.15 1.17 1.18 1.20 1.21 1.23 1.24 1.26 1.27 1.29
1.30 1.32 1.33 1.35 1.37 1.38 1.40 1.42 1.43 1.45 1.47 1.49 1.50 1.52 1.54 1.56 1.58 1.60 1.62 1.64 1.65 1.67 1.69 1.72 1.74 1.76
1.78 1.80 1.82 1.84 1.87 1.89 1.91 1.93 1.96 1.98 2.00 2.03 2.05 2.08 2.10 2.13 2.15 2.18 2.21 2.23 2.26 2.29 2.32 2.34 2.37 2.40
2.43 2.46 2.49 2.52 2.55 2.58 2.61 2.64 2.67 2.71 2.74 2.77 2.80 2.84 2.87 2.91 2.94 2.98 3.01 3.05 3.09 3.12 3.16 3.20 3.24 3.28
3.32 3.36 3.40 3.44 3.48 3.52 3.57 3.61 3.65 3.70 3.74 3.79 3.83 3.88 3.92 3.97 4.02 4.07 4.12 4.17 4.22 4.27 4.32 4.37 4.42 4.48
4.53 4.59 4.64 4.70 4.75 4.81 4.87 4.93 4.99 5.05 5.11 5.17 5.23 5.30 5.36 5.42 5.49 5.56 5.62 5.69 5.76 5.83 5.90 5.97 6.04 6.12
6.19 6.26 6.34 6.42 6.49 6.57 6.65 6.73 6.81 6.90 6.98 7.06 7.15 7.23 7.32 7.41 7.50 7.59 7.68 7.77 7.87 7.96 8.06 8.16 8.25 8.35
8.45 8.56 8.66 8.76 8.87 8.98 9.09 9.20 9.31 9.42 9.53 9.65 9.76 9.88`,
}

func TestSeriesAreComplete(t *testing.T) {
	for _, s := range parts.AllSeries() {
		want := strings.Fields(preferred[s])
		var got []string
		for _, m := range s.Members() {
			got = append(got, strconv.FormatFloat(m, 'f', s.Figures()-1, 64))
		}
		if len(want) != int(s) || strings.Join(got, " ") != strings.Join(want, " ") {
			t.Errorf("%v: got %v, want %v", s, got, want)
		}
		for i, m := range s.Members() {
			if exact, _ := strconv.ParseFloat(want[i], 64); m != exact {
				t.Errorf("%v: %v is not the float64 of %s", s, m, want[i])
			}
		}
	}
}

// The largest distance of any value from the nearest member, half a gap relative
// to its middle. Recomputed from the lists, to four decimals of a per cent.
func TestLargestDistance(t *testing.T) {
	for s, want := range map[parts.Series]float64{
		parts.E3: 37.5, parts.E6: 20, parts.E12: 11.1111, parts.E24: 7.1429, parts.E48: 2.5937, parts.E96: 1.4815, parts.E192: 0.9709,
	} {
		most := 0.0
		for _, m := range s.Members() {
			_, above := s.Neighbours(m)
			middle := (m + above) / 2
			most = math.Max(most, 100*(above-middle)/middle)
			if d := 100 * math.Abs(s.NearestRelative(middle*1.0001)-middle) / middle; d > want+1e-4 {
				t.Errorf("%v: %g lies %g %% away", s, middle, d)
			}
		}
		if math.Abs(most-want) > 5e-5 {
			t.Errorf("%v: %g %%, want %g", s, most, want)
		}
	}
}

func TestSeriesOf(t *testing.T) {
	for _, c := range []struct {
		value float64
		want  string
	}{
		{4.7e-9, "[E3 E6 E12 E24 E192]"}, // 4.70 is in E192 and not in E96
		{100, "[E3 E6 E12 E24 E48 E96 E192]"},
		{4990, "[E96 E192]"},
		{9.2e3, "[E192]"}, // the exception, and not in E96
		{2e5, "[E24 E96 E192]"},
		{9.1, "[E24]"},
		{0.1 + 0.2, "[E24]"}, // 0.30000000000000004
		{9.999999999999e-7, "[E3 E6 E12 E24 E48 E96 E192]"},
		{5, "[]"}, {0, "[]"}, {-1, "[]"}, {math.NaN(), "[]"}, {math.Inf(1), "[]"}, {5e-324, "[]"},
	} {
		if got := fmt.Sprint(parts.SeriesOf(c.value)); got != c.want {
			t.Errorf("%g: got %s, want %s", c.value, got, c.want)
		}
	}
}

// The E24 values that are also in E96, and in E192.
func TestSeriesShareFewValues(t *testing.T) {
	shared := func(with parts.Series) (out []float64) {
		for _, m := range parts.E24.Members() {
			if _, ok := with.Member(m); ok {
				out = append(out, m)
			}
		}
		return out
	}
	if got := fmt.Sprint(shared(parts.E96)); got != "[1 1.1 1.3 1.5 2 7.5]" {
		t.Errorf("E96: %s", got)
	}
	if got := fmt.Sprint(shared(parts.E192)); got != "[1 1.1 1.2 1.3 1.5 1.6 1.8 2 2.4 4.7 7.5]" {
		t.Errorf("E192: %s", got)
	}
}

func TestNearest(t *testing.T) {
	for _, c := range []struct {
		s           parts.Series
		value       float64
		log, rel    float64
		below, over float64
	}{
		{parts.E12, 5e-9, 4.7e-9, 4.7e-9, 4.7e-9, 5.6e-9},
		{parts.E3, 1.55, 2.2, 1, 1, 2.2},      // between geometric (1.483) and arithmetic (1.6) mean
		{parts.E6, 9e3, 1e4, 1e4, 6.8e3, 1e4}, // over the end of the decade
		{parts.E6, 0.95, 1, 1, 0.68, 1},       // and from below
		{parts.E24, 1e-6, 1e-6, 1e-6, 9.1e-7, 1.1e-6},
		{parts.E192, 9.99, 10, 10, 9.88, 10},
	} {
		below, over := c.s.Neighbours(c.value)
		if got := []float64{c.s.Nearest(c.value), c.s.NearestRelative(c.value), below, over}; fmt.Sprint(got) != fmt.Sprint([]float64{c.log, c.rel, c.below, c.over}) {
			t.Errorf("%v %g: got %v, want %v", c.s, c.value, got, c)
		}
	}
}

func TestNoSeriesAndNoValue(t *testing.T) {
	for _, s := range []parts.Series{0, -1, 5, 7, 384} {
		if s.Valid() || len(s.Members()) != 0 || s.Figures() != 0 || !math.IsNaN(s.Nearest(1)) {
			t.Errorf("%v is taken for a series", s)
		}
	}
	for _, v := range []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		below, above := parts.E24.Neighbours(v)
		if !math.IsNaN(below) || !math.IsNaN(above) || !math.IsNaN(parts.E24.Nearest(v)) || !math.IsNaN(parts.E24.NearestRelative(v)) {
			t.Errorf("%g has neighbours", v)
		}
	}
}

func TestParseSeries(t *testing.T) {
	for _, s := range parts.AllSeries() {
		if got, err := parts.ParseSeries(strings.ToLower(s.String())); got != s || err != nil {
			t.Errorf("%v: %v, %v", s, got, err)
		}
	}
	for _, text := range []string{"", "E", "24", "E25", "E-3"} {
		if _, err := parts.ParseSeries(text); err == nil {
			t.Errorf("%q is accepted", text)
		}
	}
}

func TestCustomaryTolerance(t *testing.T) {
	if _, ok := parts.E3.Tolerance(); ok {
		t.Error("E3 has none")
	}
	for s, want := range map[parts.Series]float64{parts.E6: 0.2, parts.E12: 0.1, parts.E24: 0.05, parts.E48: 0.02, parts.E96: 0.01, parts.E192: 0.005} {
		if got, ok := s.Tolerance(); !ok || got != want {
			t.Errorf("%v: %g", s, got)
		}
	}
}

// Neighbours enclose, and the nearest is one of them or the value itself.
func TestNearestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(parts.AllSeries()).Draw(t, "series")
		v := math.Pow(10, rapid.Float64Range(-13, 13).Draw(t, "log10"))
		below, above := s.Neighbours(v)
		if !(below < v && v < above) {
			t.Fatalf("%v: %g not between %g and %g", s, v, below, above)
		}
		m, member := s.Member(v)
		for _, n := range []float64{s.Nearest(v), s.NearestRelative(v)} {
			if n != below && n != above && !(member && n == m) {
				t.Fatalf("%v: nearest of %g is %g", s, v, n)
			}
			if _, ok := s.Member(n); !ok {
				t.Fatalf("%v: %g is no member", s, n)
			}
		}
		_, next := s.Neighbours(below)
		if next != above && !(member && next == m) {
			t.Fatalf("%v: above %g comes %g, not %g", s, below, next, above)
		}
	})
}

func ExampleSeries_Nearest() {
	below, above := parts.E24.Neighbours(4.85e3)
	fmt.Println(parts.E24.Nearest(4.85e3), below, above, parts.SeriesOf(4.7e3))
	// Output: 4700 4700 5100 [E3 E6 E12 E24 E192]
}
