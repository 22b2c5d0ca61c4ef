package record

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
)

func TestTrackOnePureTone(t *testing.T) {
	for _, ppm := range []float64{0, 300, -2000} {
		freq := 1000 * (1 + ppm*1e-6)
		s := newTrackSource(48000, freq, 0)
		r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000}}, s, 480_000, nil)
		tone := r.Tones[0]
		if math.Abs(tone.FreqHz-freq) > 1e-6 {
			t.Errorf("%g ppm: frequency %.9f, want %.9f", ppm, tone.FreqHz, freq)
		}
		if want := -ppm / (1 + ppm*1e-6); math.Abs(r.ClockPPM-want) > 1e-3 {
			t.Errorf("%g ppm: clock %g ppm, want %g", ppm, r.ClockPPM, want)
		}
		for ch, z := range tone.Phasors {
			// The early segments know the frequency to 1e-4 of what it is off.
			if d := cmplx.Abs(z - s.phasorAt(ch, r.MiddleS*48000)); d > 1e-8 {
				t.Errorf("%g ppm, channel %d: got %v, off by %.2g", ppm, ch, z, d)
			}
			if math.Abs(r.Offset[ch]-0.01) > 1e-7 || math.Abs(r.Peak[ch]-cmplx.Abs(s.z[ch])-0.01) > 1e-3 || r.NoiseRMS[ch] > 1e-5 {
				t.Errorf("%g ppm, channel %d: offset %g, peak %g, noise %g", ppm, ch, r.Offset[ch], r.Peak[ch], r.NoiseRMS[ch])
			}
		}
	}
}

// The joining of full series changes nothing that matters.
func TestTrackJoinsSegments(t *testing.T) {
	testkit.NotShort(t)
	s := newTrackSource(48000, 5000.5, 1e-3)
	r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{5000}, SegmentS: 1e-4}, s, 10_000_000, nil)
	if r.Segments < 2*trackCapacity {
		t.Fatalf("%d segments do not fill the series of %d twice", r.Segments, trackCapacity)
	}
	for ch, z := range r.Tones[0].Phasors {
		// Noise: 1e-3·√(2/10⁷) = 4.5e-7 per axis; phase from the frequency besides.
		if d := cmplx.Abs(z - s.phasorAt(ch, r.MiddleS*48000)); d > 3e-6 {
			t.Errorf("channel %d: off by %.2g", ch, d)
		}
	}
	if d := math.Abs(r.Tones[0].FreqHz - 5000.5); d > 5*r.Tones[0].FreqUHz || d > 1e-6 {
		t.Errorf("frequency off by %.2g, uncertainty %.2g", d, r.Tones[0].FreqUHz)
	}
}

// The covariance is what the noise makes it: 2σ²/N per axis (Kay 1993, example
// 3.14 with a known frequency), and what the channels share is correlated.
func TestTrackCovariance(t *testing.T) {
	s := newTrackSource(48000, 1000.1, 1e-3)
	s.common = 1e-3
	r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000}}, s, 1_000_000, nil)
	tone := r.Tones[0]
	want := 2 * 2e-6 / 1e6
	ratio := mat.Trace(tone.Cov) / 4 / want
	// Fifteen degrees of freedom on two axes, half of them shared: ±50 % at most.
	if ratio < 0.5 || ratio > 2 || tone.Dof != 15 {
		t.Errorf("variance per axis is %.2f of 2σ²/N with %g degrees of freedom", ratio, tone.Dof)
	}
	shared := (tone.Cov.At(0, 2) + tone.Cov.At(1, 3)) / 2 / want
	if shared < 0.15 || shared > 1.2 {
		t.Errorf("covariance between the channels is %.2f of the variance, want about 0.5", shared)
	}
	testkit.CheckRel(t, "noise", r.NoiseRMS[0], math.Sqrt2*1e-3, 0.02)
}

// Many short tracks: the error against the covariance it claims. With 15 degrees
// of freedom the mean of |e|²/u² is (15/13)·2; its own spread over 60 runs is 8 %.
func TestTrackErrorsMatchCovariance(t *testing.T) {
	testkit.NotShort(t)
	runs := 60
	sum, freq := 0.0, 0.0
	for i := range runs {
		s := newTrackSource(48000, 1000.02, 1e-2)
		s.rng = rand.New(rand.NewPCG(uint64(i), 5))
		r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000}}, s, 100_000, nil)
		tone := r.Tones[0]
		e := tone.Phasors[1] - s.phasorAt(1, r.MiddleS*48000)
		sum += (real(e)*real(e) + imag(e)*imag(e)) / ((tone.Cov.At(2, 2) + tone.Cov.At(3, 3)) / 2)
		f := (tone.FreqHz - 1000.02) / tone.FreqUHz
		freq += f * f
	}
	if m := sum / float64(runs); m < 1.5 || m > 3.4 {
		t.Errorf("mean squared error is %.2f of the variance per axis, want about 2.3", m)
	}
	if m := freq / float64(runs); m < 0.6 || m > 2 {
		t.Errorf("mean squared error of the frequency is %.2f of its variance, want about 14/12", m)
	}
}

// A block lost shows as a phase step of the right size at the right time.
func TestTrackFindsStep(t *testing.T) {
	s := newTrackSource(48000, 1000.2, 1e-4)
	r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000}}, s, 960_000, func(at int, _ [][]float64) {
		if at == 490_000 {
			s.at += 7 // frames that the next block skips
		}
	})
	step := r.Tones[0].PhaseStep
	want := math.Remainder(7*1000.2/48000*2*math.Pi, 2*math.Pi)
	if math.Abs(step.Size-want) > 0.02 || math.Abs(step.AtS-500_000/48000.0) > 0.15 || step.RMS > want/3 {
		t.Errorf("got %+v, want a step of %.3f rad at %.2f s", step, want, 500_000/48000.0)
	}
	if l := r.Tones[0].LevelStep; math.Abs(l.Size) > 0.2 {
		t.Errorf("level step %+v", l)
	}
}

func TestTrackFindsGap(t *testing.T) {
	s := newTrackSource(48000, 1000, 1e-4)
	r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000}}, s, 480_000, func(at int, b [][]float64) {
		if at == 200_000 {
			clear(b[0][:1000])
			clear(b[1][:1000])
		}
	})
	if l := r.Tones[0].LevelStep; math.Abs(l.Size) < 0.2 || math.Abs(l.AtS-200_000/48000.0) > 0.15 {
		t.Errorf("got %+v, want a large step at %.2f s", l, 200_000/48000.0)
	}
}

// NaN spoils its segment and nothing else.
func TestTrackSkipsNotFinite(t *testing.T) {
	s := newTrackSource(48000, 1000.1, 0)
	r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000}}, s, 480_000, func(at int, b [][]float64) {
		if at == 200_000 {
			b[0][5], b[1][9] = math.NaN(), math.Inf(-1)
		}
	})
	if r.Skipped != 1 || math.IsNaN(r.Peak[0]) || math.IsNaN(r.NoiseRMS[1]) {
		t.Errorf("%d segments skipped, peak %g, noise %g", r.Skipped, r.Peak[0], r.NoiseRMS[1])
	}
	if d := cmplx.Abs(r.Tones[0].Phasors[0] - s.phasorAt(0, r.MiddleS*48000)); d > 1e-6 {
		t.Errorf("phasor off by %.2g", d)
	}
}

// A tone too faint to have a frequency of its own takes the clearest one's clock.
func TestTrackFaintToneSharesClock(t *testing.T) {
	s := newTrackSource(48000, 1000.3, 0.02)
	r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000, 3000}}, s, 480_000, nil)
	if f := r.Tones[1]; math.Abs(f.FreqHz-3000.9) > 0.01 || !math.IsInf(f.FreqUHz, 1) || maxAbs(f.Phasors) > 6*0.02*math.Sqrt(2/480e3) {
		t.Errorf("got %+v, want 3000.9 Hz of unknown frequency and next to nothing", f)
	}
}

func TestTrackBlockSizesAndInterleaving(t *testing.T) {
	s := newTrackSource(48000, 1000.1, 1e-3)
	whole := s.block(60_000)
	want := trackOf(t, func(tr *Tracker) error { return tr.Add(whole) })
	mixed := make([]float64, 120_000)
	for i := range whole[0] {
		mixed[2*i], mixed[2*i+1] = whole[0][i], whole[1][i]
	}
	for name, size := range testkit.Blockings() {
		got := trackOf(t, func(tr *Tracker) error {
			for at := 0; at < 60_000; {
				n := min(size(), 60_000-at)
				if err := tr.Add([][]float64{whole[0][at : at+n], whole[1][at : at+n]}); err != nil {
					return err
				}
				at += n
			}
			return nil
		})
		compareTracks(t, name, got, want)
		got = trackOf(t, func(tr *Tracker) error {
			for at := 0; at < 120_000; {
				n := min(2*size(), 120_000-at)
				if err := tr.AddInterleaved(mixed[at : at+n]); err != nil {
					return err
				}
				at += n
			}
			return nil
		})
		compareTracks(t, name+", interleaved", got, want)
	}
}

func trackOf(t *testing.T, feed func(*Tracker) error) *Track {
	t.Helper()
	tr, err := NewTracker(TrackConfig{RateHz: 48000, TonesHz: []float64{1000, 2345.6}})
	if err != nil {
		t.Fatal(err)
	}
	if err := feed(tr); err != nil {
		t.Fatal(err)
	}
	r, err := tr.Result()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func compareTracks(t *testing.T, name string, got, want *Track) {
	t.Helper()
	if got.Frames != want.Frames || got.Segments != want.Segments {
		t.Fatalf("blocks of %s: %d frames in %d segments, want %d in %d", name, got.Frames, got.Segments, want.Frames, want.Segments)
	}
	for i := range want.Tones {
		for ch := range want.Tones[i].Phasors {
			if d := cmplx.Abs(got.Tones[i].Phasors[ch] - want.Tones[i].Phasors[ch]); d > 1e-12 {
				t.Errorf("blocks of %s, tone %d, channel %d: off by %.2g", name, i, ch, d)
			}
		}
	}
	for ch := range want.Peak {
		if got.Peak[ch] != want.Peak[ch] || math.Abs(got.NoiseRMS[ch]-want.NoiseRMS[ch]) > 1e-12 {
			t.Errorf("blocks of %s, channel %d: peak %g and noise %g, want %g and %g", name, ch, got.Peak[ch], got.NoiseRMS[ch], want.Peak[ch], want.NoiseRMS[ch])
		}
	}
}

func TestTrackRefuses(t *testing.T) {
	for name, cfg := range map[string]TrackConfig{
		"no rate": {TonesHz: []float64{1000}}, "no tones": {RateHz: 48000},
		"half rate": {RateHz: 48000, TonesHz: []float64{24000}}, "zero": {RateHz: 48000, TonesHz: []float64{0}},
		"segment": {RateHz: 48000, TonesHz: []float64{1000}, SegmentS: -1}, "slow": {RateHz: 48000, TonesHz: []float64{1e-9}},
	} {
		if _, err := NewTracker(cfg); !errors.Is(err, ErrTrack) && !errors.Is(err, phase.ErrFrequency) {
			t.Errorf("%s: got error %v", name, err)
		}
	}
	tr, err := NewTracker(TrackConfig{RateHz: 48000, TonesHz: []float64{1000}})
	if err != nil {
		t.Fatal(err)
	}
	for name, err := range map[string]error{
		"one channel": tr.Add([][]float64{{1}}), "unequal": tr.Add([][]float64{{1}, {1, 2}}), "half a frame": tr.AddInterleaved([]float64{1}),
	} {
		if !errors.Is(err, ErrTrack) {
			t.Errorf("%s: got error %v", name, err)
		}
	}
	if _, err := tr.Result(); !errors.Is(err, ErrTrack) {
		t.Errorf("an empty record: got error %v", err)
	}
}

func TestTrackerDoesNotAllocate(t *testing.T) {
	tr, err := NewTracker(TrackConfig{RateHz: 48000, TonesHz: []float64{1000}})
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, 20_000)
	tr.AddInterleaved(x)
	if n := testing.AllocsPerRun(50, func() { tr.AddInterleaved(x) }); n != 0 {
		t.Errorf("AddInterleaved allocates %g times a block", n)
	}
}

func BenchmarkTracker(b *testing.B) {
	for _, tones := range []int{1, 3} {
		b.Run(fmt.Sprintf("tones=%d", tones), func(b *testing.B) {
			tr, err := NewTracker(TrackConfig{RateHz: 192000, TonesHz: []float64{1000.1, 3000.3, 5000.5}[:tones]})
			if err != nil {
				b.Fatal(err)
			}
			block := testkit.RoughSignal(2*192_000, 0.01, 0.5, 1, 3)
			var spent time.Duration
			for b.Loop() {
				start := time.Now()
				tr.AddInterleaved(block)
				spent += time.Since(start)
			}
			b.ReportMetric(spent.Seconds()/float64(b.N)/192_000*1e9, "ns/frame")
			b.ReportMetric(float64(b.N)/spent.Seconds(), "x-realtime")
		})
	}
}

func TestMeanPhasor(t *testing.T) {
	for _, step := range []phase.Turns{phase.GridTurns(1, 48), phase.GridTurns(1, 2), {}, phase.TurnsOf(math.Ldexp(5, -128), 1), phase.TurnsOf(1e-9, 48000), phase.TurnsOf(-777.7, 48000)} {
		for _, n := range []int{1, 7, 48, 3072} {
			want := complex128(0)
			for i := range n {
				want += step.Times(uint64(i)).Phasor() / complex(float64(n), 0)
			}
			if d := cmplx.Abs(meanPhasor(step, n) - want); d > 1e-13 { // the plain sum of 3072 terms is no better
				t.Errorf("%g turn, %d terms: off by %.2g", step.Of(), n, d)
			}
		}
	}
}

// Silence is measured as such, and a track of little but NaN is refused.
func TestTrackNothing(t *testing.T) {
	s := newTrackSource(48000, 1000, 0)
	r := mustTrack(t, TrackConfig{RateHz: 48000, TonesHz: []float64{1000}}, s, 100_000, func(_ int, b [][]float64) { clear(b[0]); clear(b[1]) })
	if tone := r.Tones[0]; maxAbs(tone.Phasors) != 0 || tone.FreqHz != 1000 || !math.IsInf(tone.FreqUHz, 1) || r.NoiseRMS[0] != 0 {
		t.Errorf("got %+v", r)
	}
	tr, err := NewTracker(TrackConfig{RateHz: 48000, TonesHz: []float64{1000}})
	if err != nil {
		t.Fatal(err)
	}
	for range 20 {
		b := s.block(10_000)
		b[0][3000], b[1][9000] = math.NaN(), math.NaN()
		b[0][6000] = math.Inf(1)
		if err := tr.Add(b); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := tr.Result(); !errors.Is(err, ErrTrack) {
		t.Errorf("got error %v", err)
	}
}
