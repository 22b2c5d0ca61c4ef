package sweep

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/stimulus"
)

// MaxMove is how far a point may be moved at the most, relative: as far as a
// stimulus moves a tone.
const MaxMove = 0.05

// PerDecade is the number of points from one frequency to another, both included.
func PerDecade(lowHz, highHz float64, perDecade float64) int {
	return max(2, int(math.Round(math.Log10(highHz/lowHz)*perDecade))+1)
}

// Near moves those tones that may be moved to calibrated frequencies, where one is
// near: nearer than the next point, so that no two points fall together. The tones
// moved are fixed then.
func Near(tones []stimulus.ToneRequest, calibratedHz []float64) []stimulus.ToneRequest {
	reach := reach(tones)
	out := slices.Clone(tones)
	for i, t := range tones {
		if !t.Movable {
			continue
		}
		best := reach * t.FreqHz
		for _, c := range calibratedHz {
			if d := math.Abs(c - t.FreqHz); d <= best {
				best, out[i] = d, stimulus.ToneRequest{FreqHz: c}
			}
		}
	}
	return out
}

// reach is how far points may be moved so that none passes another.
func reach(tones []stimulus.ToneRequest) float64 {
	const part = 0.4 // of the distance: two neighbours may both move
	least := MaxMove
	for i, t := range tones {
		for _, u := range tones[:i] {
			least = math.Min(least, part*math.Abs(t.FreqHz-u.FreqHz)/math.Max(t.FreqHz, u.FreqHz))
		}
	}
	return least
}

// Place finds the frequencies of points that are measured one after the other:
// clear of the mains where that is within reach, and distinct however close the
// points lie.
func Place(rateHz, mainsHz float64, tones []stimulus.ToneRequest) ([]float64, error) {
	cfg := stimulus.Config{RateHz: rateHz, MainsHz: mainsHz, MaxMove: reach(tones), NoFade: true, Seconds: 1}
	for _, t := range tones {
		const steps = 2.5 // of the grid within reach; the length of a grid is that of the stimulus at the most
		cfg.Seconds = math.Max(cfg.Seconds, steps/(cfg.MaxMove*t.FreqHz))
	}
	var out []float64
	for _, t := range tones {
		// One by one: steps of a sweep are never on each other's harmonics.
		plan, err := stimulus.PlanTones(cfg, []stimulus.ToneRequest{t})
		if err != nil {
			return nil, err
		}
		freqHz := plan.Tones[0].FreqHz
		if math.Abs(freqHz-t.FreqHz) > 1.001*cfg.MaxMove*t.FreqHz { // no grid is that fine
			freqHz = t.FreqHz
		}
		out = append(out, freqHz)
	}
	return out, nil
}
