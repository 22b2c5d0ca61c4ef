package live

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

// stretch streams a tone and keeps the frames from one to another.
func stretch(t *testing.T, s *Session, plan *stimulus.Plan, from, to int64) record.Signal {
	t.Helper()
	sig := record.Signal{RateHz: plan.Config.RateHz, Channels: make([][]float64, 2)}
	err := s.Stream(context.Background(), plan, func(first int64, block [][]float64) bool {
		if first >= from {
			for ch := range sig.Channels {
				sig.Channels[ch] = append(sig.Channels[ch], block[ch]...)
			}
		}
		return first+int64(len(block[0])) < to
	})
	if err != nil {
		t.Fatal(err)
	}
	return sig
}

// A fifth of a second of a stream reads as the part does.
func TestStreamReadsThePart(t *testing.T) {
	s, _ := session(t, with470(t), Options{})
	plan, err := s.Steady(context.Background(), requests(1000), 5)
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.Observe(part, plan, stretch(t, s, plan, 24000, 24000+9600))
	if err != nil {
		t.Fatal(err)
	}
	c, err := Measure(s.jig, nil, []fixture.Observation{o}, 1000, s.Reading())
	if err != nil || !c.Trusted || !(c.Reading.Series.R.Low < 470 && 470 < c.Reading.Series.R.High) {
		t.Errorf("%v: read %+v, want 470 ohm in its interval", err, c)
	}
}

// What claims to be an open and reads 470 ohm is doubted while it streams.
func TestStreamIsDoubted(t *testing.T) {
	s, _ := session(t, with470(t), Options{})
	plan, err := s.Steady(context.Background(), requests(1000), 5)
	if err != nil {
		t.Fatal(err)
	}
	sig := stretch(t, s, plan, 24000, 24000+9600)
	for _, c := range []struct {
		what   Subject
		doubts bool
	}{
		{Subject{Role: fixture.Open}, true},
		{Subject{Role: fixture.LoadRole, Load: &fixture.Load{Ohm: 470, Tolerance: 0.01}}, false},
	} {
		o, err := s.Observe(c.what, plan, sig)
		if err != nil {
			t.Fatal(err)
		}
		doubts, err := s.DoubtsOf(o, []float64{1000})
		if err != nil || (len(doubts) > 0) != c.doubts {
			t.Errorf("%s: %v, %v", c.what, err, doubts)
		}
	}
}

func TestStreamEnds(t *testing.T) {
	s, _ := session(t, with470(t), Options{})
	plan, err := s.Steady(context.Background(), requests(20), 0.2)
	if err != nil || float64(plan.Frames())/48000 < LeastSeconds(20) {
		t.Fatalf("%v, %d frames are less than %g s", err, plan.Frames(), LeastSeconds(20))
	}
	frames := 0
	if err := s.Stream(context.Background(), plan, func(_ int64, b [][]float64) bool { frames += len(b[0]); return true }); err != nil || frames != plan.Frames() {
		t.Errorf("%v, %d of %d frames", err, frames, plan.Frames())
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := s.Stream(ctx, plan, func(int64, [][]float64) bool { return true }); !errors.Is(err, context.Canceled) {
		t.Errorf("after the end of its context: %v", err)
	}
	mute := New(plain{with470(t)}, Options{Jig: s.jig})
	if err := mute.Stream(context.Background(), plan, nil); err == nil || !strings.Contains(err.Error(), "cannot show") {
		t.Errorf("a card without a monitor: %v", err)
	}
}

// plain is a card that can do nothing but run.
type plain struct{ card audio.Card }

func (p plain) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	return p.card.Run(ctx, cfg, stimulus)
}

// A kept record reads again as it did.
func TestAgain(t *testing.T) {
	s, _ := session(t, card(t, 1, virtual.TypicalFaults(1)), Options{Folder: openFolder(t, t.TempDir())})
	p := plan(t, s, 1000)
	take, err := s.Take(context.Background(), Subject{Role: fixture.Open}, p)
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.Again(strings.TrimSuffix(take.Observation.File, ".wav"), take.Subject, p)
	if err != nil {
		t.Fatal(err)
	}
	a, b := take.Observation.Analysis.Tones[0], again.Observation.Analysis.Tones[0]
	if again.Observation.File != take.Observation.File || math.Abs(a.FreqHz-b.FreqHz) > 0 || a.Phasors[0] != b.Phasors[0] {
		t.Errorf("read again: %+v, at first %+v", b, a)
	}
	if _, err := s.Again(t.TempDir()+"/none", take.Subject, p); err == nil {
		t.Error("a record that is not there was read")
	}
}

// A tone of which a recording would last for hours is refused before it is planned,
// whatever it is wanted for; one that takes two minutes is not.
func TestTonesTooLowToRecord(t *testing.T) {
	s, _ := session(t, with470(t), Options{})
	for _, freqHz := range []float64{1e-12, 100e-6, 0.01, 0.06, math.NaN()} {
		for what, plan := range map[string]func() (*stimulus.Plan, error){
			"a recording":        func() (*stimulus.Plan, error) { return s.Plan(context.Background(), requests(1000, freqHz)) },
			"a stream":           func() (*stimulus.Plan, error) { return s.Steady(context.Background(), requests(freqHz), 5) },
			"one of many levels": func() (*stimulus.Plan, error) { return s.PlanFor(context.Background(), requests(freqHz), 0.1, 1) },
		} {
			if _, err := plan(); err == nil || !strings.Contains(err.Error(), "choose a higher frequency") {
				t.Errorf("%s of %g Hz: %v", what, freqHz, err)
			}
		}
	}
	if p, err := s.Plan(context.Background(), requests(0.07)); err != nil || p.Frames() > 121*48000 {
		t.Errorf("70 mHz: %v", err)
	}
}
