package live

import (
	"context"
	"errors"
	"strings"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// script is a hand that puts in what a test says, and answers so.
type script struct {
	s     *Session
	steps []step
	asked []string
}

type step struct {
	put    string
	answer Answer
}

func (h *script) Connect(_ context.Context, what Subject, again []finding.Finding) (Answer, error) {
	line := what.String()
	if again != nil {
		line += " again: " + string(again[0].Code)
	}
	h.asked = append(h.asked, line)
	if len(h.asked) > len(h.steps) {
		return Stop, ErrUnanswered
	}
	now := h.steps[len(h.asked)-1]
	if now.put == "" {
		return now.answer, nil
	}
	return now.answer, h.s.Put(now.put)
}

func TestStandardsAreAskedForUntilTheyFit(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	load := fixture.Load{Ohm: 1000, Tolerance: 1e-3}
	subjects := []Subject{{Role: fixture.Open}, {Role: fixture.Short}, {Role: fixture.LoadRole, Load: &load}}
	cases := []struct {
		name    string
		steps   []step
		asked   string
		used    int
		stopped bool
		refused bool
	}{
		{"as it should be", []step{{"open", Ready}, {"short", Ready}, {"load", Ready}}, "the open, the short, the load 1k/0.1%", 3, false, false},
		{"wrong at first", []step{{"r22", Ready}, {"open", Ready}, {"r470", Ready}, {"short", Ready}, {"load", Ready}},
			"the open, the open again: jig-changed, the short, the short again: jig-changed, the load 1k/0.1%", 3, false, false},
		{"one left out", []step{{"open", Ready}, {"", Skip}, {"load", Ready}}, "the open, the short, the load 1k/0.1%", 2, false, false},
		{"refused and left out", []step{{"r22", Ready}, {"", Skip}, {"short", Ready}, {"load", Ready}},
			"the open, the open again: jig-changed, the short, the load 1k/0.1%", 2, false, false},
		{"ended", []step{{"open", Ready}, {"", Stop}}, "the open, the short", 1, true, false},
		{"refused, and nobody there", []step{{"r22", Ready}}, "the open, the open again: jig-changed", 0, true, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s, _ := session(t, card(t, 1, virtual.TypicalFaults(1)), Options{})
			h := &script{s: s, steps: c.steps}
			out, err := s.Standards(context.Background(), h, subjects, plan(t, s, 1000))
			if err != nil {
				t.Fatal(err)
			}
			if got := strings.Join(h.asked, ", "); got != c.asked {
				t.Errorf("asked for %s\nwant %s", got, c.asked)
			}
			if len(out.Observations) != c.used || out.Stopped != c.stopped || (out.Refused != nil) != c.refused {
				t.Errorf("%d used, stopped %v, refused %v", len(out.Observations), out.Stopped, out.Refused)
			}
		})
	}
}

func TestNobodyAnswers(t *testing.T) {
	s, _ := session(t, card(t, 1, virtual.TypicalFaults(1)), Options{})
	out, err := s.Standards(context.Background(), &script{s: s}, []Subject{{Role: fixture.Open}}, plan(t, s, 1000))
	if !errors.Is(err, ErrUnanswered) || !out.Stopped {
		t.Errorf("%v, %+v", err, out)
	}
}

// The simulated jig has loads of its own value, and others by name.
func TestSimulatedHand(t *testing.T) {
	c, err := virtual.New(virtual.Config{Faults: virtual.TypicalFaults(1), Tray: &virtual.Tray{Parts: []virtual.Part{{Name: "load 100", Circuit: "R 100"}}}})
	if err != nil {
		t.Fatal(err)
	}
	s, _ := session(t, c, Options{})
	for _, w := range []struct {
		what Subject
		want string
	}{
		{Subject{Role: fixture.LoadRole, Load: &fixture.Load{Ohm: 100}}, "load 100"},
		{Subject{Role: fixture.LoadRole, Load: &fixture.Load{Ohm: 1000}}, "load"},
		{Subject{Role: fixture.Short}, "short"},
		{Subject{Role: fixture.PartRole, Name: "open"}, "open"},
	} {
		if _, err := s.Hand().Connect(context.Background(), w.what, nil); err != nil || c.Inserted() != w.want {
			t.Errorf("%s: %v, %q is in", w.what, err, c.Inserted())
		}
	}
	if _, err := s.Hand().Connect(context.Background(), Subject{Role: fixture.PartRole, Name: "no such"}, nil); err == nil {
		t.Error("a part that is not in the tray was put in")
	}
}

// A card that is not simulated changes nothing by itself.
func TestRealCardIsNotPutInto(t *testing.T) {
	s, _ := session(t, &spoiling{Card: card(t, 1, virtual.Faults{})}, Options{})
	if err := s.Put("open"); err == nil || s.Simulated() {
		t.Errorf("%v, simulated %v", err, s.Simulated())
	}
}

func TestLevels(t *testing.T) {
	cases := []struct {
		name  string
		drive float64
		gain  float64
		level float64
		words string
	}{
		{"good", 1, 0, -12, ""},
		{"too loud", 4, 0, -21, "turn the input gain down by 9 dB"},
		{"room", 0.03, 0, -12, "turned up by 34 dB"},
		{"nothing", 1, -1, -12, "Neither input hears the tone"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			card, err := virtual.New(virtual.Config{Jig: virtual.Jig{DriveVolts: c.drive},
				Faults: virtual.Faults{Noise: [2]float64{1e-6, 1e-6}, Gain: [2]float64{c.gain, c.gain}}})
			if err != nil {
				t.Fatal(err)
			}
			if c.gain == -1 {
				s, _ := session(t, &spoiling{Card: silent{}}, Options{})
				l, err := s.Levels(context.Background())
				if err != nil || !strings.Contains(l.Advice, c.words) || finding.Worst(l.Findings) != finding.Invalid {
					t.Errorf("%v, %q, %v", err, l.Advice, l.Findings)
				}
				return
			}
			s, _ := session(t, card, Options{})
			l, err := s.Levels(context.Background())
			if err != nil || l.LevelDB != c.level || !strings.Contains(l.Advice, c.words) || (c.words == "") != (l.Advice == "") || len(l.Findings) > 0 {
				t.Errorf("%v, level %g, %q, %v", err, l.LevelDB, l.Advice, l.Findings)
			}
			// Half of full scale is -6 dB; the tone is at -40.
			if want := -40 + 20*0.30103*log2(c.drive); abs(l.Inputs[0].QuietDB-want) > 0.01 {
				t.Errorf("the tone is heard at %.3f dB, want %.3f", l.Inputs[0].QuietDB, want)
			}
		})
	}
}

// silent is a card whose inputs hear a little noise and nothing else.
type silent struct{}

func (silent) Run(_ context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	cfg, err := cfg.WithDefaults(len(stimulus))
	if err != nil {
		return nil, err
	}
	rec := &audio.Record{RateHz: cfg.RateHz, Source: "silent", Channels: make([][]float64, 2)}
	state := uint32(1)
	for range cfg.Frames {
		for ch := range rec.Channels {
			state = state*1664525 + 1013904223
			rec.Channels[ch] = append(rec.Channels[ch], (float64(state)/(1<<32)-0.5)*1e-5)
		}
	}
	return rec, nil
}
