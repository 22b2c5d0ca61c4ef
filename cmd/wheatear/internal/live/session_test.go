package live

import (
	"context"
	"errors"
	"flag"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

// calibrated is a session that has a calibration at 95.2, 1000 and 10 000 Hz.
func calibrated(t *testing.T, seed uint64) (*Session, *stimulus.Plan, *fixture.Calibration) {
	t.Helper()
	s, _ := session(t, card(t, seed, virtual.TypicalFaults(seed)), Options{})
	p := plan(t, s, 95.2, 1000, 10000)
	load := fixture.Load{Ohm: 1000, Tolerance: 1e-3}
	standards, err := s.Standards(context.Background(), s.Hand(), []Subject{{Role: fixture.Open}, {Role: fixture.Short}, {Role: fixture.LoadRole, Load: &load}}, p)
	if err != nil || standards.Stopped || len(standards.Observations) != 3 {
		t.Fatalf("standards: %v, %+v", err, standards)
	}
	cal, findings, err := Calibrate(s.jig, standards.Observations, Frequencies(p), fixture.About{Card: s.Card()})
	if err != nil || cal == nil {
		t.Fatalf("no calibration: %v, %v", err, findings)
	}
	return s, p, cal
}

// A whole session against the tray's truth: no reading is off by more than 4
// standard uncertainties (18 pairs of readings, each beyond that with a chance of
// 1e-4), and at least 80 % of the pairs of 95 % intervals hold the truth: 90 % of two
// independent ones would, and the simulated standards are better than they claim.
func TestSessionTellsTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	tellTruth(t, 1)
}

// The same with faults drawn anew ten times.
func TestSoakSessionsTellTheTruth(t *testing.T) {
	if !*soak {
		t.Skip("a long one: go test -soak")
	}
	tellTruth(t, 10)
}

var soak = flag.Bool("soak", false, "run the long statistical tests")

func tellTruth(t *testing.T, sessions uint64) {
	inside, all := 0, 0
	for seed := range sessions {
		s, p, cal := calibrated(t, seed+1)
		for name := range truths {
			for _, c := range readings(t, s, p, cal, name) {
				z := truths[name](complex(0, 2*math.Pi*c.NominalHz))
				widths, ok := off(c, z)
				if all++; ok {
					inside++
				}
				if widths > 4 {
					t.Errorf("seed %d, %s: off by %.1f u: %s", seed+1, name, widths, show(c, z))
				}
			}
		}
	}
	t.Logf("%d of %d readings hold the truth in both intervals", inside, all)
	if float64(inside) < 0.8*float64(all) {
		t.Errorf("only %d of %d readings hold the truth", inside, all)
	}
}

// readings are those of a part at every tone.
func readings(t *testing.T, s *Session, p *stimulus.Plan, cal *fixture.Calibration, name string) []*fixture.Corrected {
	t.Helper()
	if err := s.Put(name); err != nil {
		t.Fatal(err)
	}
	take, err := s.Take(context.Background(), Subject{Role: fixture.PartRole, Name: name}, p)
	if err != nil {
		t.Fatal(err)
	}
	var out []*fixture.Corrected
	for _, f := range Frequencies(p) {
		c, err := Measure(s.jig, cal, []fixture.Observation{take.Observation}, f, s.Reading())
		if err != nil || !c.Trusted {
			t.Fatalf("%s at %g Hz: %v, %v", name, f, err, c.Findings)
		}
		out = append(out, c)
	}
	return out
}

func TestSpoiltRecordIsMadeOnceMore(t *testing.T) {
	c := &spoiling{Card: with470(t), changes: []func(*audio.Record){dropout, nil}}
	s, k := session(t, c, Options{})
	take, err := s.Take(context.Background(), part, plan(t, s, 1000))
	if err != nil || len(take.Spoilt) != 0 || take.Tries != 2 || c.runs != 2 {
		t.Fatalf("%v, %d tries, %d runs, spoilt by %v", err, take.Tries, c.runs, take.Spoilt)
	}
	if !strings.Contains(k.all(), "Recording r470 once more (1 of 3): dropout") {
		t.Errorf("said %q", k.all())
	}
}

func TestRepeatsHaveAnEnd(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	c := &spoiling{Card: with470(t), changes: []func(*audio.Record){dropout, dropout, dropout, dropout, dropout}}
	s, k := session(t, c, Options{})
	take, err := s.Take(context.Background(), part, plan(t, s, 1000))
	if err != nil || len(take.Spoilt) == 0 || take.Tries != Repeats+1 || len(k.said) != Repeats {
		t.Errorf("%v, %d tries, spoilt by %v, said %d times", err, take.Tries, take.Spoilt, len(k.said))
	}
}

// What would spoil the next record as well is not tried again.
func TestLastingTroubleIsNotRepeated(t *testing.T) {
	cases := map[finding.Code]virtual.Faults{
		finding.Clipped: {Noise: [2]float64{1e-5, 1e-5}, Gain: [2]float64{4, 4}, Bits: 24},
		finding.Mono:    {Noise: [2]float64{1e-5, 1e-5}, Mono: true},
	}
	for code, faults := range cases {
		inner := card(t, 1, faults)
		if err := inner.Insert("r470"); err != nil {
			t.Fatal(err)
		}
		c := &spoiling{Card: inner}
		s, _ := session(t, c, Options{})
		take, err := s.Take(context.Background(), part, plan(t, s, 1000))
		if err != nil || c.runs != 1 || !slices.ContainsFunc(take.Spoilt, func(f finding.Finding) bool { return f.Code == code }) {
			t.Errorf("%s: %v, %d runs, spoilt by %v", code, err, c.runs, take.Spoilt)
		}
		if code == finding.Clipped && !strings.Contains(s.LevelAdvice(take), "--level -18dBFS") {
			t.Errorf("advice %q", s.LevelAdvice(take))
		}
	}
}

func TestQuietInputsAreTold(t *testing.T) {
	s, _ := session(t, card(t, 1, virtual.Faults{Noise: [2]float64{1e-7, 1e-7}}), Options{Level: &fixture.Level{Value: -60}})
	take, err := s.Take(context.Background(), part, plan(t, s, 1000))
	if err != nil || !strings.Contains(s.LevelAdvice(take), "play louder: --level -1") {
		t.Errorf("%v, advice %q", err, s.LevelAdvice(take))
	}
	loud, _ := session(t, card(t, 1, virtual.Faults{Noise: [2]float64{1e-7, 1e-7}}), Options{})
	if take, err = loud.Take(context.Background(), part, plan(t, loud, 1000)); err != nil || loud.LevelAdvice(take) != "" {
		t.Errorf("%v, advice %q though the level is good", err, loud.LevelAdvice(take))
	}
}

// What a driver reports is told, and does not void a record that is whole.
func TestDriverReportsAreANote(t *testing.T) {
	c := &spoiling{Card: card(t, 1, virtual.Faults{Noise: [2]float64{1e-5, 1e-5}}), changes: []func(*audio.Record){func(rec *audio.Record) {
		rec.Events = append(rec.Events, audio.Event{Kind: audio.Remark, Detail: "harmless"},
			audio.Event{Kind: audio.Overflow, Frame: 4800, Detail: "input lost"}, audio.Event{Kind: audio.Gap, Frame: 9600})
	}}}
	s, _ := session(t, c, Options{})
	take, err := s.Take(context.Background(), part, plan(t, s, 1000))
	if err != nil || len(take.Spoilt) != 0 || take.Driver == nil {
		t.Fatalf("%v, spoilt by %v, driver %v", err, take.Spoilt, take.Driver)
	}
	if d := take.Driver; d.Code != finding.Dropout || d.Severity != finding.Note || !strings.Contains(d.Detail, "2 times") || d.AtS == nil || *d.AtS != 0.1 {
		t.Errorf("%+v", d)
	}
}

// Records become as long as the delay needs, and no longer.
func TestDelayIsLearnt(t *testing.T) {
	for _, frames := range []int{0, 4800, 16000} {
		s, _ := session(t, card(t, 1, virtual.Faults{Noise: [2]float64{1e-5, 1e-5}, LatencyFrames: frames}), Options{})
		p := plan(t, s, 1000)
		for range 2 {
			if _, err := s.Take(context.Background(), part, p); err != nil {
				t.Fatal(err)
			}
		}
		if delay := float64(frames) / 48000; s.tailS < delay+0.08 || s.tailS > delay+0.25 {
			t.Errorf("a delay of %.3f s: records go on for %.3f s", delay, s.tailS)
		}
	}
}

func TestCancelKeepsWhatThereIs(t *testing.T) {
	jig := parseJig(t, strings.Replace(jigText, "0.6", "60", 1))
	s, _ := session(t, card(t, 1, virtual.TypicalFaults(1)), Options{Jig: jig})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	s.opts.Progress = func(seconds, of float64) {
		if seconds > 3 {
			cancel()
		}
	}
	a, err := s.Average(ctx, part, plan(t, s, 1000), nil, Goal{Seconds: 500})
	if !errors.Is(err, context.Canceled) || len(a.Takes) != 1 {
		t.Fatalf("%v, %d takes", err, len(a.Takes))
	}
	if n := a.Takes[0].Record.Frames(); n < 3*48000 || n > 10*48000 {
		t.Errorf("%d frames kept", n)
	}
	if _, err := s.Take(ctx, part, plan(t, s, 1000)); !errors.Is(err, context.Canceled) {
		t.Errorf("after the end: %v", err)
	}
}

func TestDeviceGone(t *testing.T) {
	for _, frames := range []int{0, 1000, 40000} {
		s, _ := session(t, audiotest.FailAfter(card(t, 1, virtual.TypicalFaults(1)), frames, audio.ErrLost), Options{})
		take, err := s.Take(context.Background(), part, plan(t, s, 1000))
		if !errors.Is(err, audio.ErrLost) || (take != nil && len(take.Spoilt) == 0) != (frames == 40000) {
			t.Errorf("after %d frames: %v, take %v", frames, err, take)
		}
	}
}

func TestVoltsAreThoseAtTheInputs(t *testing.T) {
	jig := parseJig(t, strings.Replace(jigText, `"1V"`, `"2V"`, 1))
	c, err := virtual.New(virtual.Config{Jig: virtual.Jig{DriveVolts: 3, FullScaleVolts: [2]float64{2, 2}}, Faults: virtual.Faults{Noise: [2]float64{1e-6, 1e-6}}})
	if err != nil {
		t.Fatal(err)
	}
	s, _ := session(t, c, Options{Jig: jig, Level: &fixture.Level{Value: 0.5, Volts: true}})
	take, err := s.Take(context.Background(), part, plan(t, s, 1000))
	if err != nil {
		t.Fatal(err)
	}
	// A sine of 0.5 V rms has a peak of 0.7071 V, and full scale is 2 V; the steady
	// part is as flat as the simulation, to 1e-4.
	if got, want := take.Observation.Analysis.Peak[0], 0.5*math.Sqrt2/2; math.Abs(got/want-1) > 1e-3 {
		t.Errorf("peak %.5f of full scale, want %.5f", got, want)
	}
	if s, _ = session(t, c, Options{Jig: jig, Level: &fixture.Level{Value: 5, Volts: true}}); true {
		if _, err := s.Plan(context.Background(), requests(1000)); err == nil || !strings.Contains(err.Error(), "more than the 2.12 V") {
			t.Errorf("5 V of 3 V peak: %v", err)
		}
	}
}

// A tone near the mains is recorded for as long as it takes to tell it from them, but
// for one that lies right on them.
func TestPlanIsLongEnoughNearTheMains(t *testing.T) {
	jig := parseJig(t, jigText)
	jig.MainsHz, jig.Card.Seconds = 50, 1
	s := New(nil, Options{Jig: jig})

	for _, c := range []struct {
		hz       float64
		longer   bool
		separate bool
	}{{1003.7, false, true}, {51.68, true, true}, {98.7, true, true}, {50, false, false}} {
		p, err := s.Quiet([]stimulus.ToneRequest{{FreqHz: c.hz}})
		if err != nil {
			t.Fatal(err)
		}
		seconds := float64(p.SteadyFrames) / p.Config.RateHz
		if seconds > 1.2 != c.longer || seconds > longestSeconds+0.1 || p.Tones[0].OnMains == c.separate {
			t.Errorf("%g Hz: %.2f s, on the mains %v", c.hz, seconds, p.Tones[0].OnMains)
		}
	}
}
