package circuit

import "math"

// descent is the search for the least chi-square from many starts.
type descent struct {
	t        *target
	best     *Solution
	tries    int
	agreeing int // that ended where the best did
	limit    float64
}

// sameMinimum is how close two chi-squares are that are the same minimum.
const sameMinimum = 1e-4

// enough is how many tries must agree before a fit that does not agree with the data
// is taken for the best there is.
const enough = 5

// minimise finds the least chi-square that it can. A chi-square of less than limit
// ends the search: no other minimum can be told from it by the data.
func (t *target) minimise(cfg FitConfig, limit float64) *descent {
	d := &descent{t: t, limit: limit}
	if cfg.Start != nil {
		x := t.xOf(make([]float64, len(cfg.Start)), cfg.Start)
		for i := range x {
			x[i] = max(t.low[i], min(t.high[i], x[i]))
		}
		d.follow(x)
	}
	g := newGuesser(t, cfg.Seed)
	for d.tries < cfg.Tries && !d.settled() {
		for _, s := range g.round() {
			near, err := t.approach(s.x)
			if err == nil {
				d.follow(near.X)
			}
			d.tries++
			if d.settled() || d.tries >= cfg.Tries {
				break
			}
		}
	}
	if d.best != nil {
		d.refine(g)
	}
	d.finish()
	return d
}

// settled says whether a try as good as any was found.
func (d *descent) settled() bool {
	return d.best != nil && (d.agreeing >= enough || d.best.Sum <= d.limit)
}

// vague lists the unknowns that the best place leaves open by more than a factor of
// about two. Where there are any, a small feature of the sweep may have been missed.
func (d *descent) vague() []int {
	const open = 0.5
	var list []int
	cov := inverseGram(d.best.Jacobian, len(d.best.X))
	for i, u := range d.t.c.unknowns {
		limit := open
		if u.scale == exponent {
			limit = open / 5
		}
		if !(cov.At(i, i) < limit*limit) {
			list = append(list, i)
		}
	}
	return list
}

// refine draws some unknowns of the best place anew and keeps the others: the vague
// ones, since a small feature is found once all else is in place, or, where the sweep
// is not yet followed, any.
func (d *descent) refine(g *guesser) {
	for n := 0; n < refinements || d.best.Sum > d.limit && n < 2*refinements; n++ {
		list := d.vague()
		if d.best.Sum > d.limit {
			list = g.some(len(d.best.X))
		}
		if len(list) == 0 {
			return
		}
		d.tries++
		d.follow(d.redraw(g, list))
	}
}

// redraw returns the best of many draws of the unknowns listed.
func (d *descent) redraw(g *guesser, list []int) []float64 {
	best := guess{x: d.best.X, cost: math.Inf(1)}
	for n := range redraws {
		x := append([]float64(nil), d.best.X...)
		fresh := g.feature()
		if n%4 == 0 {
			fresh = g.draw()
		}
		for _, i := range list {
			x[i] = fresh[i]
		}
		cost := g.cost(x)
		if d.best.Sum <= d.limit {
			d.t.residuals(g.residuals, x)
			cost = sumSquares(g.residuals)
		}
		if cost < best.cost {
			best = guess{x, cost}
		}
	}
	return best.x
}

// refinements of a place with vague unknowns, and redraws for each.
const (
	refinements = 8
	redraws     = 40
)

// follow goes downhill from x.
func (d *descent) follow(x []float64) {
	s, err := d.t.solve(x, 100, 1e-5)
	if err != nil {
		return
	}
	switch {
	case d.best == nil || s.Sum < d.best.Sum*(1-sameMinimum):
		d.best, d.agreeing = s, 1
	case s.Sum < d.best.Sum*(1+sameMinimum):
		if s.Sum < d.best.Sum {
			d.best = s
		}
		d.agreeing++
	}
}

// finish goes on from the best until nothing changes.
func (d *descent) finish() {
	if d.best == nil {
		return
	}
	if s, err := d.t.solve(d.best.X, 500, 1e-9); err == nil && s.Sum <= d.best.Sum*(1+1e-12) {
		d.best = s
	}
}
