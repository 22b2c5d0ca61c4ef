package page

import (
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
)

// TrendPoint is one reading of the trend: the element that dominates, or |Z|.
type TrendPoint struct {
	Time  time.Time `json:"time"`
	Unit  string    `json:"unit"`
	Value float64   `json:"value"`
	Low   float64   `json:"low"`
	High  float64   `json:"high"`
	Text  string    `json:"text"`
}

const (
	trendEvery  = time.Second
	trendPoints = 300 // the last five minutes
)

// trend keeps a point a second of one part.
type trend struct {
	part   string
	points []TrendPoint
}

// add takes a point of a part if it is time for one, and returns it then. Another part
// begins anew.
func (t *trend) add(part string, p *TrendPoint) *TrendPoint {
	if part != t.part {
		t.part = part
		t.clear()
	}
	if p == nil {
		return nil
	}
	if n := len(t.points); n > 0 && p.Time.Sub(t.points[n-1].Time).Abs() < trendEvery {
		return nil
	}
	if len(t.points) == trendPoints {
		copy(t.points, t.points[1:])
		t.points = t.points[:trendPoints-1]
	}
	t.points = append(t.points, *p)
	return p
}

func (t *trend) clear() { t.points = t.points[:0] }

// list is a copy.
func (t *trend) list() []TrendPoint { return append([]TrendPoint{}, t.points...) }

// point is what the trend shows of a reading; nil for nothing.
func point(at time.Time, r *result.Reading) *TrendPoint {
	e, q := r.Main.What()
	if !r.Trusted || r.State != impedance.OK || math.IsNaN(q.Value) || math.IsInf(q.Low, 0) || math.IsInf(q.High, 0) {
		return nil
	}
	return &TrendPoint{at, e.Unit(), q.Value, q.Low, q.High, e.Words()}
}
