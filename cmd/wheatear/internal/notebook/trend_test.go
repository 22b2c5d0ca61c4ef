package notebook

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// past makes points, a second apart times x, that rest on the same or on different
// calibrations.
func past(x, y, u []float64, same bool) []PastPoint {
	var points []PastPoint
	for i := range x {
		p := PastPoint{Time: noon.Add(time.Duration(x[i] * float64(time.Second))), Value: y[i], U: u[i]}
		if !same {
			p.basis = fmt.Sprint(i)
		}
		points = append(points, p)
	}
	return points
}

// about checks a number to so many decimals, half a unit of which is how it is
// published.
func about(t *testing.T, what string, got, want float64, decimals int) {
	t.Helper()
	if !(math.Abs(got-want) <= 0.5*math.Pow(10, -float64(decimals))*(1+1e-9)) {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

// The examples of weighted straight lines in ISO/TS 28037:2010, 6.3 (equal weights)
// and 6.4 (unequal ones), from memory.
func TestTrendOfPublishedLines(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6}
	equal := TrendOf(past(x, []float64{3.3, 5.6, 7.1, 9.3, 10.7, 12.1}, []float64{0.5, 0.5, 0.5, 0.5, 0.5, 0.5}, false))
	about(t, "slope", equal.Slope, 1.757, 3)
	about(t, "intercept", equal.Mean-equal.Slope*equal.Middle.Sub(noon).Seconds(), 1.867, 3)
	about(t, "u(slope)", equal.U, 0.120, 3)
	about(t, "chi-square", equal.Scatter*4, 1.665, 3)

	unequal := TrendOf(past(x, []float64{3.2, 4.3, 7.6, 8.6, 11.7, 12.8}, []float64{0.5, 0.5, 0.5, 1, 1, 1}, false))
	about(t, "slope", unequal.Slope, 2.057, 3)
	about(t, "intercept", unequal.Mean-unequal.Slope*unequal.Middle.Sub(noon).Seconds(), 0.885, 3)
	about(t, "u(slope)", unequal.U/math.Sqrt(unequal.Scatter), 0.178, 3) // ours is that from the scatter, which is larger here
	about(t, "chi-square", unequal.Scatter*4, 4.131, 3)
}

func TestTrendNeedsThreeTimes(t *testing.T) {
	for _, points := range [][]PastPoint{
		nil, past([]float64{1, 2}, []float64{1, 2}, []float64{1, 1}, true), past([]float64{1, 1, 1}, []float64{1, 2, 3}, []float64{1, 1, 1}, true),
		past([]float64{1, 2, 3}, []float64{1, 2, 3}, []float64{1, 1, 0}, true), past([]float64{1, 2, 3}, []float64{1, 2, 3}, []float64{1, math.Inf(1), math.NaN()}, true),
	} {
		if got := TrendOf(points); got != nil {
			t.Errorf("%v: %+v", points, got)
		}
	}
}

// What readings share by resting on one calibration cannot feign a trend, so that
// their scatter counts: here it is a hundredth of their uncertainties.
func TestTrendWithinOneCalibration(t *testing.T) {
	x, y, u := []float64{0, 1, 2, 3, 4, 5}, []float64{100, 100.01, 100.02, 100.03, 100.04, 100.051}, []float64{1, 1, 1, 1, 1, 1}
	if got := TrendOf(past(x, y, u, true)); got.Significance() != Sure || got.Freedom != 4 {
		t.Errorf("one calibration: %+v", got)
	}
	if got := TrendOf(past(x, y, u, false)); got.Significance() != NotSeen || !math.IsInf(got.Freedom, 1) {
		t.Errorf("several: %+v", got)
	}
	// Readings that scatter more than they should are told from a trend, too.
	if got := TrendOf(past(x, []float64{90, 112, 95, 107, 99, 110}, u, false)); got.Significance() != NotSeen || got.Freedom != 4 {
		t.Errorf("scattered: %+v, %s", got, got.Significance())
	}
}

// A part that does not change is said to change sometimes: as often as the words
// allow. 2000 histories of eight readings; the bounds are 4 standard deviations of a
// binomial count.
func TestTrendFalseAlarms(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for _, same := range []bool{true, false} {
		const histories = 2000
		alarms := 0
		for range histories {
			x, y, u := make([]float64, 8), make([]float64, 8), make([]float64, 8)
			for i := range x {
				x[i], u[i] = random.Float64()*1e6, 1+random.Float64()
				y[i] = 5 + u[i]*random.NormFloat64()
			}
			if TrendOf(past(x, y, u, same)).Significance() != NotSeen {
				alarms++
			}
		}
		// Taking the larger of two uncertainties makes alarms rarer, never more frequent.
		most := 0.05*histories + 4*math.Sqrt(0.05*0.95*histories)
		if float64(alarms) > most || alarms == 0 {
			t.Errorf("same calibration %v: %d alarms of %d", same, alarms, histories)
		}
	}
}

func TestHistory(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	for i := range 6 {
		add(t, n, capacitor(i, "C12", 1e-7*(1+1e-3*float64(i)), 1e-10))
	}
	add(t, n, capacitor(9, "C13", 2e-7, 1e-10))
	for i, json := range []string{
		`{"frequency_nominal_hz": 10000, "state": "ok", "trusted": true, "dominant": "resistor", "series": {"r_ohm": {"value": 3, "u": 1, "low": 1, "high": 5}}}`,
		`{"frequency_nominal_hz": 1000.5, "state": "ok", "trusted": true, "dominant": "capacitor", "series": {"c_f": {"value": 1.006e-7, "u": 1e-10, "low": null, "high": 1}}}`,
		`{"frequency_nominal_hz": 1000, "state": "ok", "trusted": false, "dominant": "capacitor", "series": {"c_f": null}}`,
		`{"frequency_nominal_hz": 1000, "state": "open", "trusted": true, "dominant": null}`,
	} {
		e := someResult(20+i, `{"schema": "wheatear.measure/1", "readings": [`+json+`]}`)
		e.Label = "C12"
		add(t, n, e)
	}
	p, err := n.History(ctx, "C12", Choice{})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Points) != 7 || p.FreqHz != 1000 || p.Quantity != "Cs" || p.Unit != "F" || p.Others != 1 || p.Trend == nil {
		t.Errorf("%+v", p)
	}
	if last := p.Points[6]; last.Value != 1.006e-7 || last.ID != 9 || !math.IsInf(last.Low, -1) || last.High != 1 {
		t.Errorf("last: %+v", last)
	}
	for name, tc := range map[string]struct {
		label  string
		choice Choice
		points int
		what   string
	}{
		"at a frequency":       {"C12", Choice{FreqHz: 10e3}, 1, "Rs"},
		"a quantity":           {"C12", Choice{Quantity: "R"}, 1, "Rs"},
		"none at that":         {"C12", Choice{FreqHz: 5000}, 0, ""},
		"a stretch of time":    {"C12", Choice{Since: noon.Add(2 * time.Minute), Until: noon.Add(4 * time.Minute)}, 2, "Cs"},
		"nobody":               {"C99", Choice{}, 0, ""},
		"no pattern":           {"C1*", Choice{}, 0, ""},
		"the label of another": {"C13", Choice{}, 1, "Cs"},
	} {
		p, err := n.History(ctx, tc.label, tc.choice)
		if err != nil || len(p.Points) != tc.points || p.Quantity != tc.what {
			t.Errorf("%s: %+v, %v", name, p, err)
		}
	}
}

// The line's interval is that of its slope and of its mean, which are independent: at
// the middle it is that of the mean alone, and far away that of the slope.
func TestTrendAt(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6}
	line := TrendOf(past(x, []float64{3.3, 5.6, 7.1, 9.3, 10.7, 12.1}, []float64{0.5, 0.5, 0.5, 0.5, 0.5, 0.5}, false)) // ISO/TS 28037:2010, 6.3, from memory
	value, half := line.At(line.Middle)
	about(t, "mean", value, 8.017, 3)
	about(t, "half there", half, 1.95996*0.5/math.Sqrt(6), 4) // the mean of six with u = 0.5; the normal quantile from memory
	value, half = line.At(noon)
	about(t, "intercept", value, 1.867, 3)
	about(t, "half there", half, 1.95996*0.465, 2) // u(intercept) = 0.465, ISO/TS 28037:2010, 6.3, from memory
	_, far := line.At(noon.Add(1000 * time.Hour))
	about(t, "half far away", far/(1000*3600), line.Least, 3)
}

// The frequencies and quantities of a label are listed, those with most readings first.
func TestHistoryChoices(t *testing.T) {
	n := fresh(t)
	for i := range 3 {
		add(t, n, capacitor(i, "C1", 1e-7, 1e-10))
	}
	other := capacitor(3, "C1", 1e-7, 1e-10)
	other.Result = []byte(strings.Replace(string(other.Result), `"frequency_nominal_hz": 1000`, `"frequency_nominal_hz": 120`, 1))
	add(t, n, other)
	p, err := n.History(context.Background(), "C1", Choice{FreqHz: 120})
	if err != nil || len(p.Points) != 1 || p.Others != 3 {
		t.Errorf("%+v, %v", p, err)
	}
	if got, want := fmt.Sprint(p.Choices), "[{1000 Cs 3} {120 Cs 1}]"; got != want {
		t.Errorf("choices %s, want %s", got, want)
	}
}

// Two hours at a reading every 30 s, with a drift of 50 ppm/h, a wave of 20 ppm as a room
// makes that warms and cools, and the noise of readings: the interval of the slope contains
// the drift. 100 such watches for each period; the bound is that of 95 % less 3 standard
// deviations of a binomial count. The drawn waves go around between once and twelve times.
func TestTrendUnderSlowWaves(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	const runs, readings, every, drift = 100, 240, 30.0, 50e-6 / 3600
	for _, c := range []struct {
		name        string
		wave, least float64 // amplitude, shortest period in seconds
		noise       float64
	}{{"wave", 20e-6, 600, 5e-6}, {"wave in noise", 20e-6, 600, 50e-6}, {"slow wave", 20e-6, 3600, 1e-6}, {"no wave", 0, 600, 5e-6}} {
		covered, widths := 0, 0.0
		for range runs {
			period := c.least * math.Pow(7200/c.least, random.Float64())
			phase := 2 * math.Pi * random.Float64()
			x, y, u := make([]float64, readings), make([]float64, readings), make([]float64, readings)
			for i := range x {
				x[i], u[i] = every*float64(i), 1e-3
				y[i] = 1 + drift*x[i] + c.wave*math.Sin(phase+2*math.Pi*x[i]/period) + c.noise*random.NormFloat64()
			}
			trend := TrendOf(past(x, y, u, true))
			if math.Abs(trend.Slope-drift) <= trend.Least {
				covered++
			}
			widths += trend.Least * 3600e6 / runs
		}
		t.Logf("%s: %d of %d, ± %.2g ppm/h on average", c.name, covered, runs, widths)
		if float64(covered) < 95-3*math.Sqrt(100*0.05*0.95) {
			t.Errorf("%s: %d of %d intervals contain the drift", c.name, covered, runs)
		}
	}
}
