package live

import (
	"context"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
)

func log2(x float64) float64 { return math.Log2(x) }

func TestAverageEndsWhenItShould(t *testing.T) {
	cases := []struct {
		name    string
		noise   float64 // rms re full scale
		goal    Goal
		least   int // takes
		most    int
		reached bool
		why     string
	}{
		{"one record", 1e-5, Goal{}, 1, 1, false, ""},
		{"for a time", 1e-5, Goal{Seconds: 5}, 4, 6, false, ""},
		{"reached at once", 1e-5, Goal{To: 5e-2}, 1, 1, true, ""},
		{"out of reach", 1e-5, Goal{To: 1e-5}, 1, 1, false, "alone would leave"},
		{"reached after some", 0.25, Goal{To: 2.5e-2, Seconds: 60}, 2, 40, true, ""},
		{"not within the time", 0.25, Goal{To: 2.3e-2, Seconds: 2}, 1, 2, false, "not reached within 2 s"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			inner := card(t, 3, virtual.Faults{Noise: [2]float64{c.noise, c.noise}})
			if err := inner.Insert("r470"); err != nil {
				t.Fatal(err)
			}
			// Inputs that are known to be alike, so that noise can be the larger part.
			jig := parseJig(t, strings.Replace(jigText, "mains = 50\n", "mains = 50\nchannel_match = \"0.01%\"\nchannel_delay = \"0.01\"\ninput_resistance = \"220k\"\n", 1))
			s, _ := session(t, inner, Options{Jig: jig})
			a, err := s.Average(context.Background(), part, plan(t, s, 1010), nil, c.goal)
			if err != nil || len(a.Takes) < c.least || len(a.Takes) > c.most || a.Reached != c.reached || !strings.Contains(a.Why, c.why) || (c.why == "") != (a.Why == "") {
				t.Errorf("%v, %d takes, reached %v, %q", err, len(a.Takes), a.Reached, a.Why)
			}
			if c.goal.Seconds > 0 && s.Seconds() > c.goal.Seconds {
				t.Errorf("%g s recorded, %g s allowed", s.Seconds(), c.goal.Seconds)
			}
		})
	}
}

// A spoilt record ends a series; those before it stand.
func TestAverageEndsAtASpoiltRecord(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	changes := []func(*audio.Record){nil, nil, dropout, dropout, dropout, dropout}
	s, _ := session(t, &spoiling{Card: with470(t), changes: changes}, Options{})
	a, err := s.Average(context.Background(), part, plan(t, s, 1000), nil, Goal{Seconds: 100})
	if err == nil || !strings.Contains(err.Error(), "2 records before it") || len(a.Takes) != 2 {
		t.Errorf("%v, %d takes", err, len(a.Takes))
	}
	s, _ = session(t, &spoiling{Card: with470(t), changes: changes[2:]}, Options{})
	if a, err = s.Average(context.Background(), part, plan(t, s, 1000), nil, Goal{}); err != nil || len(a.Takes) != 1 || len(a.Takes[0].Spoilt) == 0 {
		t.Errorf("the only record: %v, %+v", err, a)
	}
}
