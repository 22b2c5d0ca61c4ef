package cli

import (
	"slices"
	"strconv"

	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

// Tones that are looked for are matched within these relative distances.
const (
	maxMove    = stimulus.DefaultMaxMove
	oneClock   = 2500e-6 // as far as a tone may seem to be off by its clock
	goodClocks = 300e-6  // as far as two clocks of ordinary quality are apart
)

// tones settles which frequencies --at stands for. Frequencies without ~ are
// taken as they are. The others are, in this order, one that is calibrated, the
// place that a stimulus would move the tone to if the recordings have a tone
// there, or the nearest tone that they have.
func tones(at frequencies, sources []source, mainsHz float64, calibrated []float64) ([]float64, error) {
	s := &settler{sources: sources, mainsHz: mainsHz, calibrated: calibrated}
	if at.all() {
		return s.all()
	}
	if err := s.plan(at.requests); err != nil {
		return nil, err
	}
	var out []float64
	for i, r := range at.requests {
		freqHz, err := s.settle(i, r)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(out, freqHz) {
			out = append(out, freqHz)
		}
	}
	return out, nil
}

// settler finds tones in recordings, at most once.
type settler struct {
	sources    []source
	mainsHz    float64
	calibrated []float64
	planned    []float64 // one per request
	found      []float64
	looked     bool
}

// look finds the tones of all recordings.
func (s *settler) look() ([]float64, error) {
	if s.looked {
		return s.found, nil
	}
	for _, t := range s.sources {
		analysis, err := analyse(t, record.Config{MainsHz: s.mainsHz})
		if err != nil {
			return nil, err
		}
		for _, tone := range analysis.Tones {
			if _, ok := nearest(s.found, tone.FreqHz, oneClock); !ok {
				s.found = append(s.found, tone.FreqHz)
			}
		}
	}
	slices.Sort(s.found)
	s.looked = true
	return s.found, nil
}

// all returns the tones that the recordings have, by their calibrated names
// where they have one, or else as somebody who played round numbers would call
// them.
func (s *settler) all() ([]float64, error) {
	found, err := s.look()
	if err != nil {
		return nil, err
	}
	var out []float64
	for _, f := range found {
		if c, ok := nearest(s.calibrated, f, oneClock); ok {
			f = c
		} else if r, ok := nearest([]float64{round(f)}, f, goodClocks); ok {
			f = r
		}
		if !slices.Contains(out, f) {
			out = append(out, f)
		}
	}
	return out, nil
}

// round is the nearest number of three digits.
func round(freqHz float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(freqHz, 'g', 3, 64), 64)
	if err != nil {
		return freqHz
	}
	return r
}

// plan asks where a stimulus of these tones would have put them.
func (s *settler) plan(requests []parts.FrequencyRequest) error {
	if !slices.ContainsFunc(requests, func(r parts.FrequencyRequest) bool { return r.Movable }) {
		return nil
	}
	record, err := s.sources[0].listen()
	if err != nil {
		return err
	}
	const seconds = 5 // as the stimulus is by default; what differs is looked for
	plan, err := stimulus.PlanTones(stimulus.Config{RateHz: record.RateHz, Seconds: seconds}, toneRequests(requests))
	if err != nil {
		return err
	}
	for _, t := range plan.Tones {
		s.planned = append(s.planned, t.FreqHz)
	}
	return nil
}

func (s *settler) settle(i int, r parts.FrequencyRequest) (float64, error) {
	if !r.Movable {
		return r.FreqHz, nil
	}
	if c, ok := nearest(s.calibrated, r.FreqHz, maxMove); ok {
		return c, nil
	}
	found, err := s.look()
	if err != nil {
		return 0, err
	}
	if _, ok := nearest(found, s.planned[i], oneClock); ok {
		return s.planned[i], nil
	}
	if f, ok := nearest(found, r.FreqHz, maxMove); ok {
		return f, nil
	}
	return s.planned[i], nil
}

// nearest returns the entry nearest to freqHz, if one lies within the relative
// distance.
func nearest(list []float64, freqHz, within float64) (float64, bool) {
	best, least := 0.0, within*freqHz
	for _, f := range list {
		if d := max(f-freqHz, freqHz-f); d <= least {
			best, least = f, d
		}
	}
	return best, best != 0
}
