package predict

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// Suited is the frequency that a part is best measured at.
type Suited struct {
	Part      Part
	FreqHz    float64         // to be asked for: where MeantHz is calibrated, or clear of the mains
	MeantHz   float64         // as the standard or the trade names it
	Condition parts.Condition // which does; the zero Condition where nobody names one that the card plays
	// Beyond is the condition that comes first and names frequencies beyond the card only;
	// nil where there is none.
	Beyond *parts.Condition
}

// lookHz are the frequencies of a look at a part: those that standards and the trade
// name within reach of cards, and some between and above for what is resistor at one end.
// Of the first two one is enough: the one that is no multiple of the mains, if it can be.
var lookHz = []float64{120, 100, 330, 1e3, 3.3e3, 10e3, 20e3}

// around is how far, relative, a calibrated frequency may be from the one it stands for.
const around = 0.1

// LookTones are the tones of a short look at a part of which nothing is known: those of
// lookHz that the card plays. With calibrated frequencies they are the ones among these
// that are clear of the mains and nearest, within 10 %.
func (s *Setup) LookTones(calibratedHz []float64) []stimulus.ToneRequest {
	if s.Jig == nil {
		return nil
	}
	var out []stimulus.ToneRequest
	list := slices.Clone(lookHz)
	if s.awayFrom(list[1], calibratedHz) < s.awayFrom(list[0], calibratedHz) || len(calibratedHz) == 0 && s.Jig.MainsHz == 60 {
		list[0], list[1] = list[1], list[0]
	}
	for i, hz := range list {
		if hz > carried*s.Card.RateHz || i == 1 && len(out) > 0 {
			continue
		}
		if len(calibratedHz) == 0 {
			out = append(out, stimulus.ToneRequest{FreqHz: hz, Movable: true})
			continue
		}
		if c, ok := s.nearestClear(calibratedHz, hz, around); ok && !slices.Contains(out, stimulus.ToneRequest{FreqHz: c}) {
			out = append(out, stimulus.ToneRequest{FreqHz: c})
		}
	}
	if len(out) == 0 {
		for _, hz := range calibratedHz[:min(len(calibratedHz), len(lookHz))] {
			out = append(out, stimulus.ToneRequest{FreqHz: hz})
		}
	}
	return out
}

// awayFrom is how far, relative, the nearest of some frequencies lies from one.
func (s *Setup) awayFrom(hz float64, list []float64) float64 {
	c, ok := s.nearestClear(list, hz, around)
	if !ok {
		return 1
	}
	return math.Abs(c/hz - 1)
}

// nearestClear is the frequency of a list that lies nearest to hz, within a relative
// distance and clear of the mains.
func (s *Setup) nearestClear(list []float64, hz, within float64) (best float64, ok bool) {
	least := within * hz
	for _, f := range list {
		_, order := stimulus.MainsOrder(f, s.Jig.MainsHz, stimulus.UsedSeconds(s.Card.Seconds, f))
		if d := math.Abs(f - hz); order == 0 && d <= least {
			best, least, ok = f, d, true
		}
	}
	return best, ok
}

// Suit chooses the frequency for a part by the rules of Plan: among those that the first
// of standards and trade names for it and that the card plays, the first that is nearly as
// good as the best. With a look at the part its readings say how good each is, and that it lies
// well below the part's own resonance; without, that is predicted. Of a calibration those
// that it has go before others.
//
// Errors: a setup that cannot be used.
func (s *Setup) Suit(p Part, look []impedance.Reading, calibratedHz []float64) (*Suited, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	out := &Suited{Part: p}
	named := []float64{fallbackHz}
	for _, c := range p.conditions() {
		playable := c.Reachable(parts.CardLowHz, carried*s.Card.RateHz)
		if len(playable) > 0 {
			named = playable
			if c.Standard == "none" { // high for small parts, low for large ones
				slices.SortStableFunc(named, func(a, b float64) int { return cmp.Compare(s.away(p, a), s.away(p, b)) })
			}
			break
		}
		if len(c.FreqsHz) > 0 && c.FreqsHz[0] > 0 && out.Beyond == nil {
			out.Beyond = &c
		}
	}
	from := s.moveAside(named)
	list := make([]place, len(named))
	calibrated := false
	for i, hz := range named {
		list[i] = place{hz: hz, meantHz: hz}
		if meant := from[hz]; meant != 0 {
			list[i].meantHz = meant
		}
		if c, ok := s.nearestClear(calibratedHz, list[i].meantHz, around); ok {
			list[i].hz, list[i].calibrated, calibrated = c, true, true
		}
	}
	list = slices.DeleteFunc(list, func(l place) bool { return calibrated && !l.calibrated })
	for i := range list {
		if err := s.rate(&list[i], p, look); err != nil {
			return nil, err
		}
	}
	best := list[0]
	for _, l := range list {
		if l.half < best.half*(1-nearly) || math.IsInf(best.half, 1) && !math.IsInf(l.half, 1) {
			best = l
		}
	}
	out.FreqHz, out.MeantHz = best.hz, best.meantHz
	out.Condition, _ = p.condition(best.meantHz)
	return out, nil
}

// away is how far a part is from the reference at a frequency, on a logarithmic scale.
func (s *Setup) away(p Part, hz float64) float64 {
	return math.Abs(math.Log(cmplx.Abs(p.Impedance(hz)) / s.Jig.ReferenceOhm))
}

// place is a frequency that may suit.
type place struct {
	hz, meantHz float64
	calibrated  bool
	half        float64 // relative half-width of what is to be expected there
}

// rate says how well a part is known at a place: from the look, or by prediction.
func (s *Setup) rate(l *place, p Part, look []impedance.Reading) error {
	if len(look) == 0 {
		c, err := s.choice(Wish{Part: p}, l.hz)
		if err != nil {
			l.half = math.Inf(1)
			return nil
		}
		l.half = c.Half
		return nil
	}
	l.half = math.Inf(1)
	for _, r := range look {
		if math.Abs(r.FreqHz.Value/l.meantHz-1) > around || r.Modulus.IsAbsent() {
			continue
		}
		q := p.Main(r)
		shift := math.Abs(q.Value/p.Value - 1)
		if h := HalfWidth(q); h > shift {
			shift = 0 // it may be all noise
		}
		l.half = math.Min(l.half, math.Hypot(HalfWidth(q), shift))
	}
	return nil
}
