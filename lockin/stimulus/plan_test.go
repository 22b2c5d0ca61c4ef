package stimulus

import (
	"errors"
	"math"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

func mustPlan(t testing.TB, cfg Config, requests ...ToneRequest) *Plan {
	t.Helper()
	p, err := PlanTones(cfg, requests)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPlanKeepsAndMoves(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, Seconds: 2}, ToneRequest{1000, false})
	if got := p.Tones[0]; got.FreqHz != 1000 || got.Cycles != 1 || got.Period != 48 || !got.OnMains {
		t.Errorf("exact 1 kHz: got %+v, want it kept on its grid of 48, on mains", got)
	}
	p = mustPlan(t, Config{RateHz: 48000, Seconds: 2}, ToneRequest{1000, true})
	got := p.Tones[0]
	if got.Period != 4799 || math.Abs(got.FreqHz-1000) > 50 || got.OnMains || p.SteadyFrames%4799 != 0 {
		t.Errorf("movable 1 kHz: got %+v in %d frames, want period 4799, within 5 %%, clear of mains", got, p.SteadyFrames)
	}
}

// A movable tone's phase shows every loss of fewer frames than its period; an
// exact 1 kHz at 48 kHz hides losses of 48, 96 … 480 frames.
func TestPlannedToneHidesNoDrop(t *testing.T) {
	tone := mustPlan(t, Config{RateHz: 48000}, ToneRequest{1000, true}).Tones[0]
	for drop := 1; drop < tone.Period; drop++ {
		if tone.Cycles*drop%tone.Period == 0 {
			t.Fatalf("a loss of %d frames leaves the phase as it was", drop)
		}
	}
}

func TestPlanManyTones(t *testing.T) {
	testkit.NotShort(t)
	for _, rate := range []float64{44100, 48000, 96000, 192000} {
		var req []ToneRequest
		for i := range 31 {
			req = append(req, ToneRequest{20 * math.Pow(1000, float64(i)/30), true})
		}
		p := mustPlan(t, Config{RateHz: rate, Seconds: 6}, req...)
		if p.Period == 0 || !isPrime(p.Period) || p.SteadyFrames%p.Period != 0 {
			t.Errorf("%g Hz: period %d, steady part %d", rate, p.Period, p.SteadyFrames)
		}
		for i, tone := range p.Tones {
			if tone.OnHarmonic || tone.OnMains || math.Abs(tone.FreqHz/tone.RequestedHz-1) > 0.05 {
				t.Errorf("%g Hz: tone %d is %+v", rate, i, tone)
			}
		}
	}
}

// What holds for any plan that is made.
func TestPlanProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{44100, 48000, 96000, 192000}).Draw(t, "rate")
		n := rapid.IntRange(1, 8).Draw(t, "tones")
		req := make([]ToneRequest, n)
		logs := rapid.SliceOfNDistinct(rapid.Float64Range(math.Log(20), math.Log(0.45*rate)), n, n, math.Exp).Draw(t, "f")
		for i := range req {
			req[i] = ToneRequest{math.Exp(logs[i]), rapid.Bool().Draw(t, "movable")}
		}
		cfg := Config{RateHz: rate, Seconds: rapid.Float64Range(0.3, 3).Draw(t, "s"), Peak: 0.8, LeadS: 0.1}
		p, err := PlanTones(cfg, req)
		if err != nil {
			t.Fatal(err)
		}
		checkPlan(t, p, req)
	})
}

func checkPlan(t *rapid.T, p *Plan, req []ToneRequest) {
	sum := 0.0
	for i, tone := range p.Tones {
		sum += tone.Amplitude
		if tone.RequestedHz != req[i].FreqHz || !req[i].Movable && tone.FreqHz != req[i].FreqHz {
			t.Errorf("tone %d: %+v does not keep the request %+v", i, tone, req[i])
		}
		if tone.Period != 0 && tone.FreqHz != tone.RequestedHz && p.SteadyFrames%tone.Period != 0 {
			t.Errorf("tone %d makes %d cycles in %d frames, not whole ones in %d", i, tone.Cycles, tone.Period, p.SteadyFrames)
		}
		if tone.FreqHz <= 0 || tone.FreqHz >= p.Config.RateHz/2 {
			t.Errorf("tone %d at %g Hz", i, tone.FreqHz)
		}
	}
	if sum < p.Config.Peak*(1-1e-12) {
		t.Errorf("amplitudes sum to %g, below the peak %g", sum, p.Config.Peak)
	}
	if want := p.Config.Seconds * p.Config.RateHz; math.Abs(float64(p.Frames())-want) > phase.MaxGridPeriod {
		t.Errorf("%d frames, want about %g", p.Frames(), want)
	}
}

func TestPlanRefuses(t *testing.T) {
	tone := []ToneRequest{{1000, false}}
	for name, c := range map[string]struct {
		cfg Config
		req []ToneRequest
	}{
		"no rate":         {Config{}, tone},
		"no tone":         {Config{RateHz: 48000}, nil},
		"at half rate":    {Config{RateHz: 2000}, tone},
		"zero frequency":  {Config{RateHz: 48000}, []ToneRequest{{0, true}}},
		"not a number":    {Config{RateHz: 48000}, []ToneRequest{{math.NaN(), true}}},
		"equal tones":     {Config{RateHz: 48000}, []ToneRequest{{1000, false}, {1000, false}}},
		"too short":       {Config{RateHz: 48000, Seconds: 0.01}, []ToneRequest{{20, false}}},
		"too short, free": {Config{RateHz: 48000, Seconds: 1e-5}, []ToneRequest{{20, true}}},
		"negative length": {Config{RateHz: 48000, Seconds: -1}, tone},
		"endless":         {Config{RateHz: 48000, Seconds: 1e9}, tone},
		"peak above 1":    {Config{RateHz: 48000, Peak: 1.1}, tone},
		"all lead":        {Config{RateHz: 48000, LeadS: 1}, tone},
		"mains":           {Config{RateHz: 48000, MainsHz: 55}, tone},
		"weights":         {Config{RateHz: 48000, Weights: []float64{1, 2}}, tone},
		"weight":          {Config{RateHz: 48000, Weights: []float64{math.NaN()}}, tone},
		"move":            {Config{RateHz: 48000, MaxMove: -1}, tone},
	} {
		if _, err := PlanTones(c.cfg, c.req); !errors.Is(err, ErrPlan) {
			t.Errorf("%s: got error %v, want ErrPlan", name, err)
		}
	}
}

// The caller's weights are neither kept nor changed.
func TestPlanOwnsItsWeights(t *testing.T) {
	w := []float64{1, 3}
	p := mustPlan(t, Config{RateHz: 48000, Weights: w}, ToneRequest{1000, true}, ToneRequest{3000, true})
	w[0] = 100
	if r := p.Tones[1].Amplitude / p.Tones[0].Amplitude; math.Abs(r-3) > 1e-12 || p.Config.Weights[0] != 1 {
		t.Errorf("amplitude ratio %g, weights %v, want 3 and [1 3]", r, p.Config.Weights)
	}
}

func TestPlacerAvoidsHarmonics(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, Seconds: 2}, ToneRequest{1000, true}, ToneRequest{2000, true}, ToneRequest{3000, true}, ToneRequest{2010, true})
	for i, a := range p.Tones {
		for j, b := range p.Tones {
			if i != j && b.Cycles%a.Cycles == 0 {
				t.Errorf("tone %d (%d cycles) is a harmonic of tone %d (%d)", j, b.Cycles, i, a.Cycles)
			}
		}
	}
}
