package record

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
	"example.org/wheatear/lockin/internal/trouble"
	"math"
	"math/rand/v2"
	"testing"
)

// Frames are lost when little of the tone is still to come, with open terminals, where
// both inputs carry the same tone. What is used ends before the break.
func TestBreaksNearTheEndOfTheTone(t *testing.T) {
	testkit.NotShort(t)
	const rate, seconds, fade, silence = 48000.0, 1.2, 0.01, 0.15
	for _, kind := range []string{"24 lost", "473 lost", "256 zeros"} {
		for _, f := range []float64{100, 5000} {
			for _, left := range []float64{0.12, 0.06} {
				r := testkit.Record{RateHz: rate, Seconds: seconds, Silence: silence, Fade: fade, TonesHz: []float64{f},
					Amp: [2]float64{0.2, 0.2}, Noise: [2]float64{4e-6, 4e-6}, Bits: 24}
				x := r.Make(uint64(1e4*left) + uint64(f))
				at := int((seconds - silence - left) * rate)
				switch kind {
				case "24 lost":
					x = testkit.Cut(x, at, 24)
				case "473 lost":
					x = testkit.Cut(x, at, 473)
				default:
					x = testkit.Fill(x, at, 256, func(int, int) float64 { return 0 })
				}
				a := analyzed(t, Signal{RateHz: rate, Channels: x, Bits: 24}, Config{TonesHz: []float64{f}})
				d := findingOf(a, finding.Dropout)
				if d == nil || d.AtS == nil || math.Abs(*d.AtS-float64(at)/rate) > 5e-3 || d.Severity != finding.Warning || a.End > at+1 {
					t.Errorf("%s, %g Hz, %g s before the end: used up to %d of %d; %v", kind, f, left, a.End, at, a.Findings)
				}
				if m := findingOf(a, finding.Mono); m != nil {
					t.Errorf("%s, %g Hz, %g s before the end: %s", kind, f, left, m.Detail)
				}
			}
		}
	}
}

// A burst in common, louder than all noise, does not make two inputs one.
func TestCommonBurstIsNoCopy(t *testing.T) {
	r := testkit.Record{RateHz: 48000, Seconds: 0.5, Noise: [2]float64{1e-6, 1e-6}}
	noise := r.Make(4)
	x := make([][]float64, 2)
	rng := rand.New(rand.NewPCG(4, 4))
	for i := 3000; i < 3400; i++ {
		v := 1e-2 * rng.NormFloat64()
		noise[0][i], noise[1][i] = noise[0][i]+v, noise[1][i]+v
	}
	for ch := range x {
		x[ch] = append([]float64(nil), noise[ch]...)
		for i := range x[ch] {
			x[ch][i] += 0.3 * math.Sin(float64(i)/7)
		}
	}
	if m := trouble.FindMono(x[0], x[1], noise[0], noise[1]); m.Mono || m.Unshared < 0.9 {
		t.Errorf("%+v", m)
	}
}

// checkShortRecords draws short records of faded tones, of few periods too, with hum.
func checkShortRecords(t *testing.T, numbers []int) (alarms, n int) {
	for _, i := range numbers {
		rng := rand.New(rand.NewPCG(uint64(i), 5))
		rate := []float64{8000, 44100, 48000}[rng.IntN(3)]
		f, tone, fade := 60*math.Pow(0.4*rate/60, rng.Float64()), 0.05+0.25*rng.Float64(), 0.005+0.015*rng.Float64()
		if f*tone < 10 {
			continue
		}
		n++
		sigma, silence := 1e-6*math.Pow(1000, rng.Float64()), 0.02+0.2*rng.Float64()
		r := testkit.Record{RateHz: rate, Seconds: tone + 2*silence + 2*fade, Silence: silence, Fade: fade, TonesHz: []float64{f},
			Amp: [2]float64{0.2, 0.2 * math.Pow(100, -rng.Float64())}, Phase: 6 * rng.Float64(), Noise: [2]float64{sigma, sigma},
			Bits: []int{16, 24, 0}[rng.IntN(3)], Delay: rng.Float64(), HumHz: 50, Hum: 1e-3 * rng.Float64(), ClockPPM: 100 * rng.Float64()}
		a := analyzed(t, Signal{RateHz: rate, Channels: r.Make(uint64(i)), Bits: r.Bits}, Config{TonesHz: []float64{f}, MainsHz: 50})
		for _, code := range []finding.Code{finding.Dropout, finding.Mono, finding.Clipped} {
			if d := findingOf(a, code); d != nil {
				alarms++
				t.Logf("%d: %.1f Hz, %.3f s at %g: %s", i, f, tone, rate, d.Detail)
			}
		}
	}
	return alarms, n
}

// fadesLikeBreaks are records whose fades turn the phase a little before they end.
var fadesLikeBreaks = []int{60, 214, 336, 340, 360, 428}

func TestShortRecordsAreSound(t *testing.T) {
	testkit.NotShort(t)
	numbers := append(upTo(40), fadesLikeBreaks...)
	if alarms, n := checkShortRecords(t, numbers); alarms > 0 {
		t.Errorf("%d false alarms in %d short records", alarms, n)
	}
}

func TestSoakShortRecordsAreSound(t *testing.T) {
	testkit.NeedSoak(t)
	if alarms, n := checkShortRecords(t, upTo(10000)); alarms > testkit.Chance(n, 1e-3) {
		t.Errorf("%d false alarms in %d short records", alarms, n)
	}
}

func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}
