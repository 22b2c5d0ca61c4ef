package record

import (
	"testing"

	"example.org/wheatear/lockin/internal/trouble"
)

// Near the ends of a stretch a small step of phase is what a fade makes behind coupling
// capacitors, be it called a loss or a step of time; elsewhere, or a large one, it is not.
func TestFadeIsNoBreak(t *testing.T) {
	const rate, frames = 48000, 48000
	an := &analyzer{sig: Signal{RateHz: rate}}
	for _, c := range []struct {
		kind  int
		frame int
		phase float64
		want  bool
	}{
		{0, 47461, 2e-4, true}, {1, 47461, 2e-4, true}, {0, 500, -2e-4, true}, {1, 500, -2e-4, true},
		{0, 24000, 2e-4, false}, {1, 24000, 2e-4, false}, {1, 47461, 0.2, false}, {2, 47461, 2e-4, false},
	} {
		g := trouble.Gap{Kind: trouble.GapMissing, Frame: c.frame, End: c.frame, PhaseRad: c.phase}
		switch c.kind {
		case 1:
			g.Kind = trouble.GapClock
		case 2:
			g.Kind = trouble.GapStep
		}
		if got := an.mayBeFade(g, span{first: 0, end: frames}, 1000); got != c.want {
			t.Errorf("%+v: %v, want %v", g, got, c.want)
		}
	}
}
