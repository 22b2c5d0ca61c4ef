package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// What is planned for a part is what comes out when the jig is calibrated and the part
// measured as planned: with the page, parts of its tray; six of them with -soak.
func TestPlansAreKept(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	s := pageOfSimulated(t)
	for i, c := range []struct {
		part, expect, kind string
		main               string // quantity of the series equivalent
	}{
		{"supply-electrolytic", "390u", "aluminium", "c_f"},
		{"sense-shunt", "R47", "", "r_ohm"},
		{"timing-film", "1u", "polyester", "c_f"},
		{"valve-coil", "92mH", "inductor", "l_h"},
		{"pull-up", "10k", "", "r_ohm"},
		{"clock-capacitor", "22p", "ceramic-1", "c_f"},
	} {
		if i > 0 && !*soak {
			break
		}
		_, p, talk := s.plans(t, fmt.Sprintf(`{"expect": %q, "kind": %q}`, c.expect, c.kind))
		if len(p.Choices) == 0 {
			t.Errorf("%s: nothing is planned: %s", c.part, talk)
			continue
		}
		best := p.Choices[0]
		s.asks(t, "calibration", fmt.Sprintf(`{"at": %q, "level": %q, "loads": ["1k/0.1%%"], "auto": true}`, best.At, best.LevelAsked))
		s.free(t)
		s.asks(t, "tray/part", fmt.Sprintf(`{"name": %q}`, c.part))
		var kept []struct {
			Measure struct {
				Readings []struct {
					Trusted bool
					Series  map[string]*struct{ Value, Low, High float64 }
				}
			}
		}
		if err := json.Unmarshal([]byte(s.asks(t, "readings", fmt.Sprintf(`{"at": %q, "level": %q}`, best.At, best.LevelAsked))), &kept); err != nil {
			t.Fatal(err)
		}
		q := kept[0].Measure.Readings[0].Series[c.main]
		if !kept[0].Measure.Readings[0].Trusted || q == nil {
			t.Errorf("%s: no reading", c.part)
			continue
		}
		half := (q.High - q.Low) / 2 / math.Abs(q.Value)
		t.Logf("%s at %s, %s: planned ± %.3g %%, reached ± %.3g %%", c.part, best.At, best.LevelAsked, 100*best.HalfWidth, 100*half)
		const within = 1.25 // noise is estimated from 32 degrees of freedom, hum is assumed
		if half > best.HalfWidth*within || half < best.HalfWidth/within {
			t.Errorf("%s: it comes to ± %.3g %%, planned were ± %.3g %%", c.part, 100*half, 100*best.HalfWidth)
		}
	}
	s.stop()
}

// free waits until nobody has the card.
func (s *served) free(t *testing.T) {
	t.Helper()
	for began := time.Now(); time.Since(began) < time.Minute; time.Sleep(20 * time.Millisecond) {
		if _, state := fetch(t, "GET", s.url+"api/state", ""); strings.Contains(state, `"owner":null`) {
			return
		}
	}
	t.Fatal("the card stays in use")
}
