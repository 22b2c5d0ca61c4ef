package virtual

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

const testRate = 48000.0

// hear passes frames through the stages of some faults, in one piece.
func hear(t *testing.T, f Faults, src []frame) []frame {
	t.Helper()
	if err := f.check(); err != nil {
		t.Fatal(err)
	}
	for _, s := range f.stages(testRate, 1, 0, newKernel()) {
		src = s.process(nil, src)
	}
	return src
}

// tones is 997 Hz on the first input and half of it, turned, on the second.
func tones(n int) []frame {
	out := make([]frame, n)
	for i := range out {
		w := 2 * math.Pi * 997 / testRate * float64(i)
		out[i] = frame{0.5 * math.Cos(w), 0.25 * math.Cos(w+1)}
	}
	return out
}

// channel takes one input out of frames.
func channel(y []frame, ch int) []float64 {
	out := make([]float64, len(y))
	for i := range y {
		out[i] = y[i][ch]
	}
	return out
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

// toneOf is the amplitude at freqHz, of all but the first frames.
func toneOf(y []frame, ch int, freqHz float64) complex128 {
	const skip = 2000
	return phasor(channel(y, ch)[skip:], 2*math.Pi*freqHz/testRate, skip)
}

func TestNoFaultsNoStages(t *testing.T) {
	if s := (&Faults{}).stages(testRate, 1, 0, newKernel()); len(s) != 0 {
		t.Errorf("without faults there are %d stages", len(s))
	}
}

func TestGainAndCrosstalk(t *testing.T) {
	src := tones(10)
	y := hear(t, Faults{Gain: [2]float64{0.01, -0.02}, Crosstalk: [2]float64{1e-3, -2e-3}}, src)
	for i := range y {
		a, b := 1.01*(src[i][0]+1e-3*src[i][1]), 0.98*(src[i][1]-2e-3*src[i][0])
		if math.Abs(y[i][0]-a) > 1e-15 || math.Abs(y[i][1]-b) > 1e-15 {
			t.Fatalf("frame %d: %v, want %v %v", i, y[i], a, b)
		}
	}
}

// The drift is drawn for each run, has the spread that was asked for, and stays
// what it is within a run.
func TestGainDrift(t *testing.T) {
	f := Faults{GainDrift: 1e-3}
	var drawn []float64
	for run := range uint64(200) {
		y := f.stages(testRate, 1, run, nil)[0].process(nil, []frame{{1, 1}, {1, 1}})
		if y[0] != y[1] || y[0][0] != 1 {
			t.Fatalf("run %d: %v", run, y)
		}
		drawn = append(drawn, y[0][1]-1)
	}
	// 200 values: the rms is within 3.5/√400 = 18 % of the spread.
	if got := rms(drawn); math.Abs(got/1e-3-1) > 0.18 {
		t.Errorf("the drift spreads by %g, want 1e-3", got)
	}
}

// A delay of any fraction turns the phase of a tone and leaves its level.
func TestDelay(t *testing.T) {
	src := tones(8000)
	for _, d := range []float64{0.31, -7.5, 16, -16, 3} {
		y := hear(t, Faults{Delay: [2]float64{0, d}}, src)
		if len(y) != len(src) {
			t.Fatalf("%d frames of %d", len(y), len(src))
		}
		ratio := toneOf(y, 1, 997) / toneOf(y, 0, 997)
		want := cmplx.Rect(0.5, 1-2*math.Pi*997/testRate*d)
		if cmplx.Abs(ratio-want) > 1e-8 {
			t.Errorf("delay %g: ratio %v, want %v", d, ratio, want)
		}
	}
}

// A recorder that takes too many samples hears tones low, at their level.
func TestClock(t *testing.T) {
	for _, ppm := range []float64{150, -150, 20000, -40000} {
		src := tones(24000)
		y := hear(t, Faults{ClockPPM: ppm}, src)
		if want := 24000 * (1 + ppm*1e-6); math.Abs(float64(len(y))-want) > 2 {
			t.Errorf("%g ppm: %d frames, want %.0f", ppm, len(y), want)
		}
		got := cmplx.Abs(toneOf(y, 0, 997/(1+ppm*1e-6)))
		if math.Abs(got-0.5) > 1e-7 {
			t.Errorf("%g ppm: level %v at the frequency expected", ppm, got)
		}
	}
}

func TestOffsetAndHum(t *testing.T) {
	f := Faults{Offset: [2]float64{0.01, -0.02}, Hum: Hum{50.02, []float64{0.003, 0, 0.001}}}
	y := hear(t, f, make([]frame, 48000))
	for ch, want := range f.Offset {
		sum := 0.0
		for _, v := range channel(y, ch) {
			sum += v
		}
		// 50.02 periods leave 0.02 of one: less than 0.003·0.02/50.
		if got := sum / 48000; math.Abs(got-want) > 2e-6 {
			t.Errorf("input %d: offset %g, want %g", ch+1, got, want)
		}
		for k, level := range []float64{0.003, 0, 0.001} {
			got := cmplx.Abs(toneOf(y, ch, 50.02*float64(k+1)))
			if math.Abs(got-level) > 1e-5 {
				t.Errorf("input %d, multiple %d: level %g, want %g", ch+1, k+1, got, level)
			}
		}
	}
}

func TestWhiteNoise(t *testing.T) {
	y := hear(t, Faults{Noise: [2]float64{1e-3, 2e-3}}, make([]frame, 48000))
	a, b := channel(y, 0), channel(y, 1)
	// 48 000 values: within 3.5/√96000 = 1.1 %.
	if math.Abs(rms(a)/1e-3-1) > 0.011 || math.Abs(rms(b)/2e-3-1) > 0.011 {
		t.Errorf("rms %g and %g, want 1e-3 and 2e-3", rms(a), rms(b))
	}
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	if c := sum / (48000 * 2e-6); math.Abs(c) > 3.5/math.Sqrt(48000) {
		t.Errorf("the inputs' noises correlate by %g", c)
	}
}

// The power in octaves is the same from 20 Hz to 5 kHz, to 1 dB.
func TestPinkNoise(t *testing.T) {
	const n = 1 << 17
	y := hear(t, Faults{PinkNoise: [2]float64{1e-3, 1e-3}}, make([]frame, n))
	// Much of the power is below 1 Hz, where 3 s hold few periods: a wide limit.
	if got := rms(channel(y, 0)) / 1e-3; math.Abs(got-1) > 0.3 {
		t.Errorf("rms %g of what was asked for", got)
	}
	var octave []float64
	for _, f := range []float64{20, 160, 1280, 5120} {
		sum := 0.0
		for k := range 100 { // lines within the octave, of both inputs
			freqHz := f * math.Exp2(float64(k)/100)
			for ch := range 2 {
				line := correlate(channel(y, ch), freqHz/testRate)
				sum += freqHz * real(line*cmplx.Conj(line))
			}
		}
		octave = append(octave, 10*math.Log10(sum))
	}
	// Some 110 lines are apart in the lowest octave: its power is within 3.5/√110, 1.3 dB,
	// and the ripple of the sum is 0.5 dB.
	if low, high := slices.Min(octave), slices.Max(octave); high-low > 2 {
		t.Errorf("octaves %v dB", octave)
	}
}

// correlate is the amplitude of a line, f in turns per sample.
func correlate(x []float64, f float64) complex128 {
	turn := cmplx.Rect(1, -2*math.Pi*f)
	sum, w := complex(0, 0), complex(1, 0)
	for _, v := range x {
		sum += w * complex(v, 0)
		w *= turn
	}
	return sum
}

func TestClip(t *testing.T) {
	src := []frame{{1.5, -1.5}, {0.5, -0.25}, {1, -1}}
	if y := hear(t, Faults{Clip: true}, src); !slices.Equal(y, []frame{{1, -1}, {0.5, -0.25}, {1, -1}}) {
		t.Errorf("got %v", y)
	}
	if y := hear(t, Faults{}, src); !slices.Equal(y, src) {
		t.Errorf("clipped without being told: %v", y)
	}
}

func TestQuantise(t *testing.T) {
	src := []frame{{1.5, -1.5}, {0.3, -0.3}, {1.0 / 65536, 3.0 / 65536}}
	want := []frame{{32767.0 / 32768, -1}, {9830.0 / 32768, -9830.0 / 32768}, {0, 2.0 / 32768}}
	if y := hear(t, Faults{Bits: 16}, src); !slices.Equal(y, want) {
		t.Errorf("got %v, want %v", y, want)
	}
}

func TestAutoGain(t *testing.T) {
	src := tones(96000)
	for i := range src {
		if i < 48000 {
			src[i][0], src[i][1] = src[i][0]/4, src[i][1]/4
		}
	}
	y := hear(t, Faults{AutoGain: 0.5}, src)
	first, last := rms(channel(y, 0)[:480]), rms(channel(y, 0)[40000:48000])
	end := rms(channel(y, 0)[88000:])
	if last < 1.2*first {
		t.Errorf("the level of a quiet tone goes from %g to %g; it should rise", first, last)
	}
	if math.Abs(end/last-1) > 0.4 {
		t.Errorf("levels 12 dB apart end at %g and %g", last, end)
	}
	for i, v := range y {
		if src[i][0] != 0 && math.Abs(v[1]*src[i][0]-v[0]*src[i][1]) > 1e-12 {
			t.Fatalf("frame %d: the ratio of the inputs has changed", i)
		}
	}
}

// A conversion with straight lines takes from a high tone and leaves images.
func TestSystemResampler(t *testing.T) {
	src := tones(24000)
	y := hear(t, Faults{ResampleHz: 44100}, src)
	if math.Abs(float64(len(y)-len(src))) > 3 {
		t.Errorf("%d frames of %d", len(y), len(src))
	}
	level := cmplx.Abs(toneOf(y, 0, 997))
	// Each conversion takes sinc²: 1 - (πf/rate)²/3, at 44.1 and 48 kHz.
	want := 0.5 * math.Pow(sinc(997/44100.0)*sinc(997/48000.0), 2)
	if math.Abs(level-want) > 2e-5 || level > 0.4998 {
		t.Errorf("level %g, want %g", level, want)
	}
	image := cmplx.Abs(toneOf(y, 0, 48000-44100+997))
	if image < 1e-5 || image > 1e-2 {
		t.Errorf("an image of %g", image)
	}
	same := hear(t, Faults{ResampleHz: 48000}, src)
	if n := len(same); n != len(src) || math.Abs(same[100][0]-src[100][0]) > 1e-15 {
		t.Errorf("a conversion to the same rate changes something, or the length: %d of %d", n, len(src))
	}
}

func TestDrops(t *testing.T) {
	src := make([]frame, 12)
	for i := range src {
		src[i] = frame{float64(i), float64(-i)}
	}
	cases := []struct {
		drops []Drop
		want  []float64
	}{
		{[]Drop{{Frame: 3, Frames: 2}}, []float64{0, 1, 2, 5, 6, 7, 8, 9, 10, 11}},
		{[]Drop{{Frame: 3, Frames: 2, Fill: Zeros}}, []float64{0, 1, 2, 0, 0, 5, 6, 7, 8, 9, 10, 11}},
		{[]Drop{{Frame: 3, Frames: 2, Fill: Repeat}}, []float64{0, 1, 2, 1, 2, 5, 6, 7, 8, 9, 10, 11}},
		{[]Drop{{Frame: 1, Frames: 3, Fill: Repeat}}, []float64{0, 0, 0, 0, 4, 5, 6, 7, 8, 9, 10, 11}},
		{[]Drop{{Frame: 0, Frames: 1, Fill: Repeat}}, []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}},
		{[]Drop{{Frame: 2, Frames: 2}, {Frame: 4, Frames: 2, Fill: Zeros}}, []float64{0, 1, 4, 5, 0, 0, 8, 9, 10, 11}},
		{[]Drop{{Frame: 2, Frames: 1}, {Frame: 2, Frames: 1}}, []float64{0, 1, 4, 5, 6, 7, 8, 9, 10, 11}},
		{[]Drop{{Frame: 10, Frames: 90, Fill: Zeros}}, []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 0, 0}},
		{[]Drop{{Frame: 2, Frames: 2, Fill: Repeat}, {Frame: 8, Frames: 3, Fill: Repeat}}, []float64{0, 1, 0, 1, 4, 5, 6, 7, 5, 6, 7, 11}},
	}
	for _, c := range cases {
		y := hear(t, Faults{Drops: c.drops}, src)
		if got := channel(y, 0); !slices.Equal(got, c.want) {
			t.Errorf("%+v: got %v, want %v", c.drops, got, c.want)
		}
	}
}

func TestRouting(t *testing.T) {
	src := []frame{{1, 0.5}, {-0.5, 0.25}}
	cases := map[string]struct {
		f    Faults
		want []frame
	}{
		"mono":    {Faults{Mono: true}, []frame{{0.75, 0.75}, {-0.125, -0.125}}},
		"swapped": {Faults{Swapped: true}, []frame{{0.5, 1}, {0.25, -0.5}}},
		"silence": {Faults{SilenceFrames: 1}, []frame{{0, 0}, {-0.5, 0.25}}},
	}
	for name, c := range cases {
		if got := hear(t, c.f, src); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
}

func TestFaultsRefuse(t *testing.T) {
	nan := math.NaN()
	cases := []struct {
		f    Faults
		want string
	}{
		{Faults{LatencyFrames: -1}, "latency"}, {Faults{SilenceFrames: 1 << 40}, "silence"}, {Faults{Bits: 1}, "resolution"},
		{Faults{Bits: 64}, "resolution"}, {Faults{ClockPPM: nan}, "clock"}, {Faults{ClockPPM: 1e6}, "clock"},
		{Faults{ResampleHz: -1}, "resampling"}, {Faults{Noise: [2]float64{0, -1}}, "level"}, {Faults{Hum: Hum{50, []float64{nan}}}, "level"},
		{Faults{Delay: [2]float64{17, 0}}, "input 1"}, {Faults{Gain: [2]float64{0, math.Inf(1)}}, "input 2"},
		{Faults{Drops: []Drop{{Frame: 5, Frames: 0}}}, "drop"}, {Faults{Drops: []Drop{{Frame: 5, Frames: 1}, {Frame: 4, Frames: 1}}}, "drop"},
		{Faults{Drops: []Drop{{Frame: 5, Frames: 10, Fill: Zeros}, {Frame: 7, Frames: 1}}}, "overlap"}, {Faults{Drops: []Drop{{Frames: 1, Fill: 9}}}, "drop"},
	}
	for _, c := range cases {
		if err := c.f.check(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want it to say %q", c.f, err, c.want)
		}
	}
	for seed := range uint64(20) {
		if f := TypicalFaults(seed); f.check() != nil {
			t.Errorf("typical faults %d: %v", seed, f.check())
		}
	}
	if a, b := TypicalFaults(3), TypicalFaults(3); a.Gain != b.Gain || a.Gain == TypicalFaults(4).Gain {
		t.Error("typical faults do not follow their seed")
	}
}

// everything has each fault that changes samples, at once.
func everything() Faults {
	f := TypicalFaults(7)
	f.LatencyFrames, f.SilenceFrames, f.ClockPPM, f.AutoGain, f.ResampleHz = 123, 40, 37, 0.6, 44100
	f.Mono, f.Swapped, f.Clip = true, true, true
	f.Drops = []Drop{{Frame: 500, Frames: 10}, {Frame: 900, Frames: 20, Fill: Zeros}, {Frame: 1500, Frames: 30, Fill: Repeat}}
	return f
}

// How the drive is divided into blocks makes no difference, to the last bit.
func TestBlockSizes(t *testing.T) {
	parts := map[string]*Part{"linear": part("C 1u + R 0.2 + L 15n"), "not linear": {Circuit: "C 1u", Junctions: []Junction{{}}}}
	for name, p := range parts {
		for faults, f := range map[string]Faults{"none": {}, "all": everything()} {
			j := full(t, TypicalJig())
			drive := make([]float64, 5000)
			r := rand.New(rand.NewPCG(1, 2))
			for i := range drive {
				drive[i] = r.Float64() - 0.5
			}
			var whole []float64
			for _, size := range []int{5000, 1, 7, 64, 4096, 0} {
				s, err := newStream(j, inserted{part: p}, f, testRate, 5, 0, newKernel())
				if err != nil {
					t.Fatal(err)
				}
				var got []float64
				for at := 0; at < len(drive); {
					n := size
					if size == 0 {
						n = 1 + r.IntN(300) // ragged
					}
					n = min(n, len(drive)-at)
					if got, err = s.Process(got, drive[at:at+n]); err != nil {
						t.Fatal(err)
					}
					at += n
				}
				if whole == nil {
					whole = got
				}
				if !slices.Equal(got, whole) {
					t.Errorf("%s, faults %s: blocks of %d give something else", name, faults, size)
				}
			}
		}
	}
}
