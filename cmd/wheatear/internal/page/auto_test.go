package page

import (
	"math"
	"strings"
	"testing"
)

// Without a frequency that suits, the part says which: an electrolytic is read near
// 120 Hz, a film capacitor near 1 kHz; the page says why.
func TestAutoFrequency(t *testing.T) {
	s := ready(t, Options{})
	s.calibrateBySelf("20..20k/13")
	for _, c := range []struct {
		part   string
		low    float64
		high   float64
		reason string
	}{
		{"valve-snubber", 800, 1300, "capacitor"},
		{"pull-up", 80, 1300, "resistor"},
		{"valve-coil", 80, 1300, "inductor"},
	} {
		s.ok("tray/part", `{"name": "`+c.part+`"}`)
		var kept []*Kept
		decodeInto(t, s.ok("readings", `{"at": "auto"}`), &kept)
		k := kept[0]
		if k.FreqHz < c.low || k.FreqHz > c.high || !k.Sheet.Trusted || k.Sheet.Kind != c.reason || !strings.Contains(string(k.Measure), `"chosen"`) {
			t.Errorf("%s: read at %g Hz as %s, %s", c.part, k.FreqHz, k.Sheet.Kind, k.Measure)
		}
	}
	s.ok("live", `{"at": "auto"}`)
	why := func(kind string) {
		t.Helper()
		s.until("it says why", func(*State) bool {
			s.mu.Lock()
			defer s.mu.Unlock()
			return s.live.last != nil && strings.Contains(s.live.last.Why, kind) && !math.IsNaN(s.live.last.FreqHz)
		})
	}
	why("inductor")
	s.ok("tray/part", `{"name": "valve-snubber"}`) // another part is looked at anew
	why("capacitor")
}
