package notebook

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Trend is a straight line through readings over time,
//
//	value(t) = Mean + Slope (t − Middle),
//
// by least squares with weights 1/u². The uncertainty of the slope is from the
// scatter about the line where five or more readings share jig and calibration, as
// what they share moves all of them alike and cannot feign a trend. Otherwise it is
// that from the uncertainties of the readings, or that from the scatter if that is
// larger. Scatter that comes in slow waves counts for more than its size: see
// [scatter].
//
// Source: weighted line and its uncertainties, ISO/TS 28037:2010, clause 6, from
// memory; taking the larger of the two is common practice, no source.
type Trend struct {
	Readings int
	Middle   time.Time // weighted mean of the times
	Mean     float64   // value there
	MeanU    float64   // standard uncertainty of Mean, with the freedom of U; not correlated with the slope
	Slope    float64   // per second
	U        float64   // standard uncertainty of Slope
	Freedom  float64   // degrees of freedom of U, +Inf where it is from the uncertainties
	Scatter  float64   // chi-square of the line over its degrees of freedom
	Chance   float64   // that a part which does not change shows as steep a line, either way
	Least    float64   // half of the 95 % interval of Slope: a change slower than that can hide
}

// Significance in words.
type Significance string

// From sure to not seen: by the chance that a part which does not change shows as
// much. The limits are common practice, no source.
const (
	Sure    Significance = "changes"                    // chance below 0.1 %
	Likely  Significance = "very likely changes"        // below 1 %
	Perhaps Significance = "may change: look again"     // below 5 %
	NotSeen Significance = "no change that can be told" // more
)

// Significance is how sure the trend is.
func (t *Trend) Significance() Significance {
	switch {
	case t.Chance < 1e-3:
		return Sure
	case t.Chance < 1e-2:
		return Likely
	case t.Chance < 5e-2:
		return Perhaps
	}
	return NotSeen
}

// At is the line at a time, and half of its 95 % interval there: that of Mean and that
// of Slope over the time since Middle, which are not correlated.
func (t *Trend) At(at time.Time) (value, half float64) {
	since := at.Sub(t.Middle).Seconds()
	factor := t.Least / t.U
	return t.Mean + t.Slope*since, factor * math.Hypot(t.MeanU, t.U*since)
}

// fewest readings that have a trend and a scatter about it.
const fewest = 3

// enough readings to rely on their scatter alone.
const enough = 5

// TrendOf is the line through points, nil where they are too few or of one time.
// Points without an uncertainty have no weight and are left out.
func TrendOf(points []PastPoint) *Trend {
	var x, y, w []float64
	var used []PastPoint
	for _, p := range points {
		if !(p.U > 0) || math.IsInf(p.U, 0) {
			continue
		}
		used = append(used, p)
		x = append(x, p.Time.Sub(used[0].Time).Seconds())
		y = append(y, p.Value)
	}
	if len(used) < fewest {
		return nil
	}
	least := math.Inf(1) // weights relative to the best, which do not overflow
	for _, p := range used {
		least = math.Min(least, p.U)
	}
	for _, p := range used {
		w = append(w, (least/p.U)*(least/p.U))
	}
	middle := stat.Mean(x, w)
	for i := range x {
		x[i] -= middle
	}
	return line(x, y, w, least, used, used[0].Time.Add(time.Duration(middle*float64(time.Second))))
}

// line fits, with times about their weighted mean, where mean and slope are not
// correlated.
func line(x, y, w []float64, unitU float64, points []PastPoint, middle time.Time) *Trend {
	sw, sxx, chi2 := 0.0, 0.0, 0.0
	for i := range x {
		sw += w[i]
		sxx += w[i] * x[i] * x[i]
	}
	if !(sxx > 0) {
		return nil
	}
	t := &Trend{Readings: len(x), Middle: middle}
	t.Mean, t.Slope = stat.LinearRegression(x, y, w, false)
	for i := range x {
		r := (y[i] - t.Mean - t.Slope*x[i]) / unitU
		chi2 += w[i] * r * r
	}
	t.Scatter = chi2 / float64(len(x)-2)
	told := unitU / math.Sqrt(sxx)
	t.U, t.Freedom = told, math.Inf(1)
	if alike(points) && chi2 > 0 || t.Scatter > 1 {
		for i := range y {
			y[i] = math.Sqrt(w[i]) * (y[i] - t.Mean - t.Slope*x[i]) / unitU
		}
		variance, freedom := scatter(x, y, w)
		t.U, t.Freedom = told*math.Sqrt(variance), freedom
	}
	t.MeanU = t.U * math.Sqrt(sxx/sw)
	t.judge()
	return t
}

// judge sets Chance and Least.
func (t *Trend) judge() {
	if math.IsInf(t.Freedom, 1) {
		t.Chance = 2 * distuv.UnitNormal.CDF(-math.Abs(t.Slope)/t.U)
		t.Least = distuv.UnitNormal.Quantile(0.975) * t.U
		return
	}
	t.Chance = 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: t.Freedom}.CDF(-math.Abs(t.Slope)/t.U)
	t.Least = coverage(t.Freedom) * t.U
}

// coverage is half of the 95 % interval in standard uncertainties.
func coverage(freedom float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile(0.975)
}

// alike reports whether enough points share jig and calibration, so that their
// scatter tells how well they compare.
func alike(points []PastPoint) bool {
	for _, p := range points {
		if p.basis != points[0].basis {
			return false
		}
	}
	return len(points) >= enough
}
