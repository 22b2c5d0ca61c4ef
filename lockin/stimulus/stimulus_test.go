package stimulus

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/internal/testkit"
)

func playAll(p *Plan, size func() int) []float64 {
	s, out := p.Stimulus(), []float64(nil)
	for {
		buf := make([]float64, min(size(), 1<<20))
		n := s.Read(buf)
		out = append(out, buf[:n]...)
		if n < len(buf) {
			return out
		}
	}
}

func TestStimulusBlockSizes(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, Seconds: 0.5, LeadS: 0.05}, ToneRequest{1000, true}, ToneRequest{777.77, false})
	want := playAll(p, func() int { return 1 << 20 })
	if len(want) != p.Frames() {
		t.Fatalf("%d frames played, want %d", len(want), p.Frames())
	}
	for name, size := range testkit.Blockings() {
		got := playAll(p, size)
		if len(got) != len(want) {
			t.Fatalf("blocks of %s: %d frames, want %d", name, len(got), len(want))
		}
		for i := range got {
			if math.Abs(got[i]-want[i]) > 1e-14 {
				t.Fatalf("blocks of %s, frame %d: got %g, want %g", name, i, got[i], want[i])
			}
		}
	}
}

// The steady part is the planned tones and nothing else; the lead is silent; the
// peak is reached and not passed.
func TestStimulusIsWhatWasPlanned(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, Seconds: 1, LeadS: 0.1, Peak: 0.7},
		ToneRequest{300, true}, ToneRequest{1000, true}, ToneRequest{5000, true})
	x := playAll(p, func() int { return 1000 })
	for i, v := range x[:p.LeadFrames] {
		if v != 0 {
			t.Fatalf("frame %d of the lead is %g", i, v)
		}
	}
	top := 0.0
	for _, v := range x {
		top = math.Max(top, math.Abs(v))
	}
	if top > 0.7*(1+1e-12) || top < 0.66 {
		t.Errorf("highest sample %g, want just below 0.7", top)
	}
	steady := x[p.LeadFrames+p.FadeFrames:][:p.SteadyFrames]
	for i, tone := range p.Tones {
		s, err := lockin.Correlate(nil, lockin.Planar(steady), 48000, tone.FreqHz)
		if err != nil {
			t.Fatal(err)
		}
		turn := math.Mod(float64(tone.Cycles)*float64(p.FadeFrames)/float64(tone.Period), 1)
		want := cmplx.Rect(tone.Amplitude, tone.PhaseRad+2*math.Pi*turn)
		if got := s[0] * complex(2/float64(len(steady)), 0); cmplx.Abs(got-want) > 1e-13 {
			t.Errorf("tone %d: got %v, want %v", i, got, want)
		}
	}
}

func TestStimulusFade(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, Seconds: 0.2, FadeS: 0.01}, ToneRequest{1000, false})
	bare := mustPlan(t, Config{RateHz: 48000, Seconds: 0.2, NoFade: true}, ToneRequest{1000, false})
	x, y := playAll(p, func() int { return 333 }), playAll(bare, func() int { return 333 })
	if bare.FadeFrames != 0 || p.FadeFrames != 480 {
		t.Fatalf("fades of %d and %d frames, want 480 and 0", p.FadeFrames, bare.FadeFrames)
	}
	n := len(x)
	for i := range 480 {
		w := math.Pow(math.Sin(math.Pi*(float64(i)+0.5)/960), 2)
		if math.Abs(x[i]-w*y[i]) > 1e-15 {
			t.Fatalf("frame %d: got %g, want %g", i, x[i], w*y[i])
		}
		if e := n - 1 - i; math.Abs(x[e]-w*y[e]) > 1e-15 {
			t.Fatalf("frame %d, %d before the end: got %g, want %g", e, i, x[e], w*y[e])
		}
	}
}

// After an hour the phase is that of the plan, computed here in integers.
func TestStimulusDoesNotDrift(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 192000, Seconds: 3600, NoFade: true}, ToneRequest{1000, true})
	s, tone := p.Stimulus(), p.Tones[0]
	s.at = p.Frames() - 500
	buf := make([]float64, 500)
	s.Read(buf)
	for i, got := range buf {
		n := p.Frames() - 500 + i
		turn := float64(tone.Cycles*n%tone.Period) / float64(tone.Period)
		if want := tone.Amplitude * math.Cos(2*math.Pi*turn+tone.PhaseRad); math.Abs(got-want) > 2e-15 {
			t.Fatalf("frame %d: got %.17g, want %.17g", n, got, want)
		}
	}
}

func TestStimulusDoesNotAllocate(t *testing.T) {
	s := mustPlan(t, Config{RateHz: 48000, Seconds: 100}, ToneRequest{1000, true}, ToneRequest{3000, true}).Stimulus()
	buf := make([]float64, 1000)
	if n := testing.AllocsPerRun(50, func() { s.Read(buf) }); n != 0 {
		t.Errorf("Read allocates %g times", n)
	}
}

func TestSortByIsStable(t *testing.T) {
	idx := []int{3, 1, 0, 2}
	sortBy(idx, func(i int) float64 { return float64(i / 2) })
	if !slices.Equal(idx, []int{1, 0, 3, 2}) {
		t.Errorf("got %v", idx)
	}
}
