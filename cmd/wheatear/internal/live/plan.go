package live

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

const (
	// leadSeconds of silence come before the tones: ten cycles of 50 Hz are enough
	// to see hum under a tone, and the rest is for cards that begin with a click.
	leadSeconds = 0.3
	fadeSeconds = 0.02
	// leastCycles of the lowest tone are played, however short a recording is wanted.
	leastCycles = 8
	// quiet is the peak of a first look at a jig of which nothing is known: -40 dBFS.
	quiet = 0.01
)

// Plan plans a stimulus of all these tones at once, at the level of the session:
// silence, then the tones for as long as the jig file says.
func (s *Session) Plan(ctx context.Context, tones []stimulus.ToneRequest) (*stimulus.Plan, error) {
	if s.peak == 0 {
		if err := s.findPeak(ctx, tones); err != nil {
			return nil, err
		}
	}
	return s.planAt(s.peak, tones)
}

// briefSeconds of tones are enough for a look at a part.
const briefSeconds = 1

// Brief plans the same for a short look, however long the records of the jig are.
func (s *Session) Brief(ctx context.Context, tones []stimulus.ToneRequest) (*stimulus.Plan, error) {
	if s.peak == 0 {
		if err := s.findPeak(ctx, tones); err != nil {
			return nil, err
		}
	}
	seconds, err := longEnough(math.Min(briefSeconds, s.jig.Card.Seconds), tones)
	if err != nil {
		return nil, err
	}
	return s.planFor(s.peak, tones, seconds)
}

// Quiet plans the same at -40 dBFS, for a first look.
func (s *Session) Quiet(tones []stimulus.ToneRequest) (*stimulus.Plan, error) {
	return s.planAt(quiet, tones)
}

// planAt plans a record that is long enough: for the lowest tone, and for telling tones
// from the mains where they lie near them. A tone right on the mains no length tells
// apart.
func (s *Session) planAt(peak float64, tones []stimulus.ToneRequest) (*stimulus.Plan, error) {
	seconds, err := longEnough(s.jig.Card.Seconds, tones)
	if err != nil {
		return nil, err
	}
	plan, err := s.planFor(peak, tones, seconds)
	for longer := 2 * seconds; err == nil && onMains(plan) > 0 && longer <= longestSeconds; longer *= 2 {
		var next *stimulus.Plan
		if next, err = s.planFor(peak, tones, longer); err == nil && onMains(next) < onMains(plan) {
			plan = next
		}
	}
	return plan, err
}

// mostForLow is how long a recording gets for the sake of a low tone.
const mostForLow = 120

// longEnough lengthens a recording to the cycles that the lowest tone needs. It is an
// error before anything is allocated where that is longer than a card runs for it.
func longEnough(seconds float64, tones []stimulus.ToneRequest) (float64, error) {
	wanted := seconds
	for _, t := range tones {
		least := leastCycles / t.FreqHz
		if !(least <= math.Max(seconds, mostForLow)) {
			return 0, fmt.Errorf("live: %d cycles of %g Hz last %.3g s, and %d s are recorded at most: choose a higher frequency, or set seconds under [card] in the jig file",
				leastCycles, t.FreqHz, least, mostForLow)
		}
		wanted = math.Max(wanted, least)
	}
	return wanted, nil
}

// longestSeconds are recorded to tell a tone from the mains.
const longestSeconds = 4

func (s *Session) planFor(peak float64, tones []stimulus.ToneRequest, seconds float64) (*stimulus.Plan, error) {
	return stimulus.PlanTones(stimulus.Config{
		RateHz: s.jig.Card.RateHz, LeadS: leadSeconds, FadeS: fadeSeconds,
		Seconds: leadSeconds + 2*fadeSeconds + seconds, Peak: peak, MainsHz: s.jig.MainsHz,
	}, tones)
}

// onMains is how many tones are too near to the mains for the length of a plan.
func onMains(plan *stimulus.Plan) (n int) {
	for _, t := range plan.Tones {
		if t.OnMains {
			n++
		}
	}
	return n
}

// findPeak settles the level. Volts are those at the stronger input, of a sine of
// the same peak: a quiet record tells what the card makes of full scale.
func (s *Session) findPeak(ctx context.Context, tones []stimulus.ToneRequest) error {
	level := *s.opts.Level
	if !level.Volts {
		s.peak = math.Pow(10, level.Value/20)
		return nil
	}
	if s.jig.FullScaleVolt == nil {
		return fmt.Errorf("live: a level of %g V needs full_scale in the jig file; or give it in dBFS", level.Value)
	}
	plan, err := s.Quiet(tones[:1])
	if err != nil {
		return err
	}
	probe, err := s.Take(ctx, Subject{Role: fixture.PartRole, Name: "level"}, plan)
	if err != nil {
		return err
	}
	full := s.voltsAtFullScale(probe, plan)
	if !(full > 0) {
		return fmt.Errorf("live: nothing heard at -40 dBFS, so a level of %g V cannot be set; check the cables, or give the level in dBFS", level.Value)
	}
	s.peak = level.Value / full
	if s.peak > 1 {
		s.peak = 0
		return fmt.Errorf("live: a level of %g V is more than the %.3g V that this card gives at full scale", level.Value, full)
	}
	return nil
}

// voltsAtFullScale is what a sine of full scale would give at the stronger input,
// in volts rms, judged by the first tone of a record.
func (s *Session) voltsAtFullScale(t *Take, plan *stimulus.Plan) float64 {
	tone := t.Observation.Analysis.Tone(plan.Tones[0].FreqHz)
	if tone == nil {
		return 0
	}
	most := 0.0
	for i, p := range tone.Phasors {
		if tone.Detected[i] {
			most = math.Max(most, cmplx.Abs(p)*s.jig.FullScaleVolt[i])
		}
	}
	return most / math.Sqrt2 / plan.Tones[0].Amplitude
}

// Frequencies lists the tones of a plan.
func Frequencies(plan *stimulus.Plan) []float64 {
	var out []float64
	for _, t := range plan.Tones {
		out = append(out, t.FreqHz)
	}
	return out
}

// SetPeak settles the peak of what is played from now on, full scale = 1.
func (s *Session) SetPeak(peak float64) { s.peak = peak }
