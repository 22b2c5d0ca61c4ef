package live

import (
	"context"
	"math"

	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

const (
	glanceSeconds = 10.0 // of a stream, which is begun anew after that
	settleSeconds = 0.2  // of a stream are not looked at: the card's delay, the tone coming up
	glimpseLength = 0.2  // seconds of a glimpse, or as many cycles as it takes
	glanceTrials  = 1000 // draws, the least that there may be; they tell nothing but an open
)

// Seen is a glimpse, and the reading that it is made of.
type Seen struct {
	batch.Glimpse
	Reading     *fixture.Corrected
	Observation fixture.Observation // it is made of; the last, of several
}

// Glance looks at what is in the jig, some five times a second, until see returns
// false or the context ends. It plays the tone of the plan; nothing is kept. From
// noneOhm on a part counts as none.
func (s *Session) Glance(ctx context.Context, plan *stimulus.Plan, cal *fixture.Calibration, noneOhm float64, see func(Seen) bool) error {
	freqHz := Frequencies(plan)[0]
	steady, err := s.Steady(ctx, []stimulus.ToneRequest{{FreqHz: freqHz}}, glanceSeconds)
	if err != nil {
		return err
	}
	g := &glancer{session: s, plan: steady, cal: cal, noneOhm: noneOhm, see: see}
	g.frames = int(math.Max(glimpseLength, LeastSeconds(freqHz)) * steady.Config.RateHz)
	for !g.done {
		g.skip, g.channels = int64(settleSeconds*steady.Config.RateHz), nil
		err := s.Stream(ctx, steady, g.hear)
		if g.err != nil {
			return g.err
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// glancer cuts a stream into glimpses.
type glancer struct {
	session  *Session
	plan     *stimulus.Plan
	cal      *fixture.Calibration
	noneOhm  float64
	see      func(Seen) bool
	skip     int64
	frames   int
	channels [][]float64 // heard of the glimpse under way
	done     bool
	err      error
}

// hear takes a block of a stream.
func (g *glancer) hear(first int64, block [][]float64) bool {
	from := int(max(0, min(int64(len(block[0])), g.skip-first)))
	if g.channels == nil {
		g.channels = make([][]float64, len(block))
	}
	for i := range block {
		g.channels[i] = append(g.channels[i], block[i][from:]...)
	}
	if len(g.channels[0]) < g.frames {
		return true
	}
	seen, err := g.glimpse()
	g.channels = nil
	g.err = err
	g.done = err != nil || !g.see(seen)
	return !g.done
}

// glimpse reads what was heard.
func (g *glancer) glimpse() (Seen, error) {
	s := g.session
	sig := record.Signal{RateHz: g.plan.Config.RateHz, Channels: g.channels}
	o, err := s.Observe(Subject{Role: fixture.PartRole, Name: "glimpse"}, g.plan, sig)
	if err != nil {
		return Seen{}, err
	}
	return s.SeenIn([]fixture.Observation{o}, Frequencies(g.plan)[0], g.cal, g.noneOhm)
}

// SeenIn is what records show of the part, as [Session.Glance] would.
func (s *Session) SeenIn(obs []fixture.Observation, freqHz float64, cal *fixture.Calibration, noneOhm float64) (Seen, error) {
	opt := s.Reading()
	opt.Reading.Trials = glanceTrials
	c, err := Measure(s.jig, cal, obs, freqHz, opt)
	if err != nil {
		return Seen{}, err
	}
	return Seen{glimpseOf(c, noneOhm), c, obs[len(obs)-1]}, nil
}

// glimpseOf takes from a reading what tells whether a part is in and stands.
func glimpseOf(c *fixture.Corrected, noneOhm float64) batch.Glimpse {
	g := batch.Glimpse{Ohm: c.Reading.Modulus.Value, Bad: !c.Trusted}
	switch c.Reading.State {
	case impedance.Open:
		return batch.Glimpse{Open: true}
	case impedance.Short:
		return batch.Glimpse{Bad: !c.Trusted}
	case impedance.NoSignal:
		g.Bad = true
		return g
	}
	// The middle of all that the part may be moves from one glimpse to the next where that
	// is much; what the voltages say does not.
	if c.Model != nil {
		out := make([]float64, fixture.Outputs)
		if c.Model.Func(out, c.Model.Inputs.Values()); !math.IsNaN(out[fixture.OutRe]) {
			g.Ohm = math.Hypot(out[fixture.OutRe], out[fixture.OutIm])
		}
	}
	// An empty jig without calibration has no upper limit, and what it seems to be is what
	// lies across the inputs (judged).
	if unbounded := math.IsInf(c.Reading.Modulus.High, 1); g.Ohm >= noneOhm || unbounded && g.Ohm >= noneOhm/5 {
		return batch.Glimpse{Open: true}
	}
	g.U = c.Reading.Modulus.U
	if p, err := level.NewPoint(c, nil); err == nil {
		g.U = math.Hypot(p.NoiseU[0], p.NoiseU[1])
	}
	return g
}

// Trouble says in a few words why a record is not to be used, "" of a sound one.
func (t *Take) Trouble() string {
	if len(t.Spoilt) == 0 {
		return ""
	}
	return t.trouble()
}
