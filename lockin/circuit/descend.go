package circuit

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
const enough = 4

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
	for d.tries < cfg.Tries && !d.done() {
		for _, s := range g.round() {
			near, err := t.approach(s.x)
			if err == nil {
				d.follow(near.X)
			}
			d.tries++
			if d.tries >= cfg.Tries || d.done() {
				break
			}
		}
	}
	d.finish()
	return d
}

func (d *descent) done() bool {
	return d.best != nil && (d.best.Sum <= d.limit || d.agreeing >= enough)
}

// follow goes downhill from x.
func (d *descent) follow(x []float64) {
	s, err := d.t.solve(x, 100, 1e-6)
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
