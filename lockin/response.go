package lockin

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/filter"
)

// Response is what the filter of one reference does, on samples. Times count back from
// the time of Mark.Frame.
type Response struct {
	ENBWHz   float64 // equivalent noise bandwidth, one-sided: σ per sample leaves 2σ·√(ENBWHz/rate) per axis
	CutoffHz float64 // offset at which 3.01 dB are lost
	DelayS   float64 // group delay at the tone
	AliasDB  float64 // the most that folds onto the passband (up to CutoffHz without PassHz)
	ImageDB  float64 // what is left of the mixer's product at twice the tone; NaN with External
	Every    int     // frames per output

	plan      plan
	reference int
}

// Response returns that of a reference, counted as [tone][harmonic]. The error wraps
// [ErrConfig].
func (c Config) Response(reference int) (Response, error) {
	p, err := c.plan()
	if err != nil {
		return Response{}, err
	}
	if reference < 0 || reference >= p.references() {
		return Response{}, refuse("Response of reference %d, want 0 to %d (tones × harmonics, less one)", reference, p.references()-1)
	}
	r := Response{Every: p.Every, plan: p, reference: reference}
	r.ENBWHz = r.enbw() * p.RateHz
	r.CutoffHz = r.cutoff() * p.RateHz
	r.DelayS = (r.delay() + 1) / p.RateHz
	r.AliasDB = r.alias()
	r.ImageDB = decibels(r.at(2 * r.toneHz() / p.RateHz))
	return r, nil
}

func decibels(v complex128) float64 { return 20 * math.Log10(cmplx.Abs(v)) }

// toneHz returns the reference's frequency; NaN where it is the caller's own.
func (r Response) toneHz() float64 {
	c := r.plan.Config
	h := float64(c.Harmonics[r.reference%len(c.Harmonics)])
	switch {
	case c.External:
		return math.NaN()
	case c.locks():
		return h * c.Lock.NearHz
	}
	return h * c.TonesHz[r.reference/len(c.Harmonics)]
}

// At returns the gain for a tone offsetHz beside the reference: an amplitude A there
// gives A·At(offsetHz)·exp(j2π·offsetHz·Frame/rate). The zero Response gives 0.
func (r Response) At(offsetHz float64) complex128 {
	if r.Every == 0 {
		return 0
	}
	turns := offsetHz / r.plan.RateHz
	return r.at(turns) * cmplx.Rect(1, -2*math.Pi*turns)
}

// SettlingS returns the time after a step of the tone's amplitude until at most a share
// eps of it is left, for eps between 0 and 1; else NaN. What the mixer leaves at twice
// the tone is not counted.
func (r Response) SettlingS(eps float64) float64 {
	if !(eps > 0 && eps < 1) || r.Every == 0 {
		return math.NaN()
	}
	return r.plan.settling(r.reference, eps) / r.plan.RateHz
}

// at is the response with the newest sample at age 0, in turns per frame.
func (r Response) at(turns float64) complex128 {
	p := &r.plan
	switch {
	case p.Filter.linear():
		return p.fir.At(turns)
	case p.Filter.dumps():
		return filter.MeanAt(r.mean(), turns)
	case p.mean != nil:
		return filter.MeanAt(r.mean(), turns) * p.poles.At(turns)
	}
	return p.poles.At(turns)
}

func (r Response) mean() int { return r.plan.mean[r.reference] }

func (r Response) delay() float64 {
	p, d := &r.plan, 0.0
	if p.Filter.linear() {
		return p.fir.Delay()
	}
	if p.mean != nil {
		d = float64(r.mean()-1) / 2
	}
	if !p.Filter.dumps() {
		d += p.poles.Delay()
	}
	return d
}

func (r Response) enbw() float64 {
	p := &r.plan
	switch {
	case p.Filter.linear():
		return p.fir.ENBW()
	case p.Filter.dumps():
		return 0.5 / float64(r.mean())
	case p.mean != nil:
		return p.poles.ENBWBehind(r.mean())
	}
	return p.poles.ENBW()
}

// cutoff returns where the response is 3.01 dB down, in turns per frame: each of the
// parts falls up to the cutoff of the narrowest.
func (r Response) cutoff() float64 {
	p := &r.plan
	if p.Filter.linear() {
		return p.fir.Cutoff()
	}
	low, high := 0.0, 0.5
	if !p.Filter.dumps() {
		high = p.poles.Cutoff()
	}
	if p.mean == nil {
		return high
	}
	high = math.Min(high, 0.5/float64(r.mean()))
	for range 60 {
		if middle := (low + high) / 2; cmplx.Abs(r.at(middle)) > math.Sqrt2/2 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// alias returns the largest response that folds onto the passband, in decibels.
func (r Response) alias() float64 {
	p := &r.plan
	switch {
	case p.Every == 1:
		return math.Inf(-1)
	case p.Filter.linear():
		return p.fir.AliasDB()
	case p.mean == nil:
		return p.poles.AliasDB(p.Every)
	}
	// Both parts fall on the whole; the average has lobes, of which the first few count.
	worst, cutoff := 0.0, r.cutoff()
	for zone := 1; zone <= min(p.Every/2, 64); zone++ {
		for i := range 65 {
			at := float64(zone)/float64(p.Every) + cutoff*(float64(i)/32-1)
			worst = math.Max(worst, cmplx.Abs(r.at(at)))
		}
	}
	return 20 * math.Log10(worst)
}
