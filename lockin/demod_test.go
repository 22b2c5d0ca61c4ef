package lockin

import (
	"errors"
	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"
)

func mustDemodulator(t testing.TB, cfg DemodConfig) (*Plan, *Demodulator) {
	t.Helper()
	p, err := NewPlan(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return p, p.Demodulator()
}

// last returns the last output of a whole stream.
func last(p *Plan, d *Demodulator, x, ref []float64) []complex128 {
	dst := make([]complex128, p.Width()*d.Outputs(len(x)))
	n := d.Process(dst, x, ref)
	return dst[(n-1)*p.Width():]
}

func addTo(x, y []float64) []float64 {
	for i := range x {
		x[i] += y[i]
	}
	return x
}

// Two tones and a third harmonic at once, each with its own amplitude and phase.
func TestDemodulatorReadsPhasors(t *testing.T) {
	const n, rate = 96000, 48000
	x := testkit.Cosine(n, 1000, rate, 0.5, 0.3)
	addTo(x, testkit.Cosine(n, 3000, rate, 0.01, -1))
	addTo(x, testkit.Cosine(n, 777.7, rate, 0.2, 2))
	p, d := mustDemodulator(t, DemodConfig{RateHz: rate, TonesHz: []float64{1000, 777.7}, Harmonics: []int{1, 3}, TimeConstantS: 0.05, Every: 480})
	got := last(p, d, x, nil)
	want := []complex128{cmplx.Rect(0.5, 0.3), cmplx.Rect(0.01, -1), cmplx.Rect(0.2, 2), 0}
	for i := range want {
		// Four poles at 20 time constants per 1/2π·f leave (2πfτ)⁻⁴ of the
		// nearest other line, 222 Hz off: 4e-8; settled to 40 time constants.
		if cmplx.Abs(got[i]-want[i]) > 1e-7 {
			t.Errorf("output %d: got %v, want %v", i, got[i], want[i])
		}
	}
}

func demodCases() map[string]DemodConfig {
	return map[string]DemodConfig{
		"tones":       {RateHz: 48000, TonesHz: []float64{1000, 777.7}, Harmonics: []int{1, 2}, TimeConstantS: 0.01, Every: 10},
		"eight poles": {RateHz: 48000, TonesHz: []float64{1000}, TimeConstantS: 0.003, Poles: 8},
		"synchronous": {RateHz: 48000, TonesHz: []float64{1000, 777.7}, TimeConstantS: 0.01, Poles: 1, SyncCycles: 5, Every: 7},
		"locked":      {RateHz: 48000, ReferenceHz: 1000, Harmonics: []int{1, 2, 5}, TimeConstantS: 0.01, Every: 3, LoopHz: 20},
	}
}

func TestDemodulatorBlockSizes(t *testing.T) {
	x := testkit.RoughSignal(20_000, 1000.3/48000, 0.5, 1, 21)
	ref := testkit.RoughSignal(20_000, 1000.3/48000, 0.9, 0, 22)
	for name, cfg := range demodCases() {
		p, whole := mustDemodulator(t, cfg)
		var r []float64
		if cfg.ReferenceHz != 0 {
			r = ref
		}
		want := make([]complex128, p.Width()*whole.Outputs(len(x)))
		whole.Process(want, x, r)
		for cut, size := range testkit.Blockings() {
			got := processBlocks(t, p, x, r, size)
			if len(got) != len(want) {
				t.Fatalf("%s, blocks of %s: %d phasors, want %d", name, cut, len(got), len(want))
			}
			for i := range got {
				if cmplx.Abs(got[i]-want[i]) > 1e-12 {
					t.Fatalf("%s, blocks of %s, phasor %d: got %v, want %v", name, cut, i, got[i], want[i])
				}
			}
		}
	}
}

// processBlocks feeds a stream in blocks, with guard cells behind each dst.
func processBlocks(t *testing.T, p *Plan, x, ref []float64, size func() int) []complex128 {
	t.Helper()
	const guard = 12345 + 6789i
	d, out := p.Demodulator(), []complex128(nil)
	for len(x) > 0 {
		n := min(size(), len(x))
		need := p.Width() * d.Outputs(n)
		dst := make([]complex128, need+3)
		for i := range dst {
			dst[i] = guard
		}
		var r []float64
		if ref != nil {
			r, ref = ref[:n], ref[n:]
		}
		outputs := d.Process(dst, x[:n], r)
		if outputs*p.Width() != need || slices.ContainsFunc(dst[need:], func(c complex128) bool { return c != guard }) {
			t.Fatalf("%d frames: %d outputs, guard cells %v", n, outputs, dst[need:])
		}
		if slices.Contains(dst[:need], guard) {
			t.Fatalf("%d frames: an output was not written", n)
		}
		out, x = append(out, dst[:need]...), x[n:]
	}
	return out
}

func TestDemodulatorDoesNotAllocate(t *testing.T) {
	x := testkit.RoughSignal(1000, 1000.3/48000, 0.5, 1, 21)
	for name, cfg := range demodCases() {
		p, d := mustDemodulator(t, cfg)
		var ref []float64
		if cfg.ReferenceHz != 0 {
			ref = x
		}
		dst := make([]complex128, p.Width()*(len(x)+1))
		if n := testing.AllocsPerRun(20, func() { d.Process(dst, x, ref) }); n != 0 {
			t.Errorf("%s: Process allocates %g times a block", name, n)
		}
	}
}

// A dropped dst advances the stream all the same.
func TestDemodulatorWithoutOutput(t *testing.T) {
	x := testkit.RoughSignal(5000, 0.02, 0.5, 1, 23)
	p, a := mustDemodulator(t, DemodConfig{RateHz: 48000, TonesHz: []float64{1000}, Every: 100})
	b := p.Demodulator()
	a.Process(nil, x[:2500], nil)
	b.Process(make([]complex128, 25), x[:2500], nil)
	if got, want := last(p, a, x[2500:], nil)[0], last(p, b, x[2500:], nil)[0]; got != want {
		t.Errorf("got %v, want %v", got, want)
	}
	if a.Frames() != 5000 {
		t.Errorf("%d frames counted, want 5000", a.Frames())
	}
}

func TestProcessPanicsOnBrokenLengths(t *testing.T) {
	_, free := mustDemodulator(t, DemodConfig{RateHz: 48000, TonesHz: []float64{1000}})
	_, locked := mustDemodulator(t, DemodConfig{RateHz: 48000, ReferenceHz: 1000})
	x := make([]float64, 10)
	for name, f := range map[string]func(){
		"short dst":        func() { free.Process(make([]complex128, 9), x, nil) },
		"reference unused": func() { free.Process(nil, x, x) },
		"no reference":     func() { locked.Process(nil, x, nil) },
		"short reference":  func() { locked.Process(nil, x, x[:9]) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}

func TestNewPlanRefuses(t *testing.T) {
	tone := []float64{1000}
	for name, cfg := range map[string]DemodConfig{
		"no rate":       {TonesHz: tone},
		"nothing":       {RateHz: 48000},
		"both":          {RateHz: 48000, TonesHz: tone, ReferenceHz: 1000},
		"nine poles":    {RateHz: 48000, TonesHz: tone, Poles: 9},
		"negative time": {RateHz: 48000, TonesHz: tone, TimeConstantS: -1},
		"NaN":           {RateHz: 48000, TonesHz: []float64{math.NaN()}},
		"negative tone": {RateHz: 48000, TonesHz: []float64{-5}},
		"harmonic 0":    {RateHz: 48000, TonesHz: tone, Harmonics: []int{0}},
		"every -1":      {RateHz: 48000, TonesHz: tone, Every: -1},
		"long average":  {RateHz: 192000, TonesHz: []float64{0.001}, SyncCycles: 1},
		"average of DC": {RateHz: 48000, TonesHz: []float64{0}, SyncCycles: 1},
		"reference":     {RateHz: 48000, ReferenceHz: 13000},
		"loop":          {RateHz: 48000, ReferenceHz: 1000, LoopHz: 100},
	} {
		if _, err := NewPlan(cfg); !errors.Is(err, ErrDemod) && !errors.Is(err, phase.ErrFrequency) {
			t.Errorf("%s: got error %v", name, err)
		}
	}
}

// The plan's copy of the settings is its own.
func TestPlanIsImmutable(t *testing.T) {
	tones := []float64{1000}
	p, _ := mustDemodulator(t, DemodConfig{RateHz: 48000, TonesHz: tones})
	tones[0] = 5
	p.Config().TonesHz[0] = 6
	if got := p.Config(); got.TonesHz[0] != 1000 || got.Poles != 4 || got.TimeConstantS != 0.1 || got.Every != 1 || got.Harmonics[0] != 1 {
		t.Errorf("got %+v", got)
	}
}

// Averaging over whole cycles removes the tone's own doubled frequency and all
// its harmonics, which one pole alone would let through.
func TestSynchronousAverage(t *testing.T) {
	const n = 48000
	x := addTo(testkit.Cosine(n, 1000, 48000, 0.5, 0.3), testkit.Cosine(n, 4000, 48000, 0.3, 1))
	base := DemodConfig{RateHz: 48000, TonesHz: []float64{1000}, Poles: 1, TimeConstantS: 0.005}
	p, d := mustDemodulator(t, base)
	plain := cmplx.Abs(last(p, d, x, nil)[0] - cmplx.Rect(0.5, 0.3))
	base.SyncCycles = 1
	p, d = mustDemodulator(t, base)
	averaged := cmplx.Abs(last(p, d, x, nil)[0] - cmplx.Rect(0.5, 0.3))
	if plain < 1e-3 || averaged > 1e-12 {
		t.Errorf("ripple %.2g without the average, %.2g with it; want above 1e-3 and below 1e-12", plain, averaged)
	}
}

// The stated bandwidth and settling are those of the outputs.
func TestPlanBandwidthAndSettling(t *testing.T) {
	cfg := DemodConfig{RateHz: 8000, TonesHz: []float64{1000}, Poles: 2, TimeConstantS: 0.02}
	p, _ := mustDemodulator(t, cfg)
	testkit.CheckRel(t, "bandwidth of the low-pass", p.ENBWHz(0), p.LowPass().SampledENBWHz(8000), 0)
	cfg.SyncCycles, cfg.TimeConstantS = 100, 1e-6
	p, _ = mustDemodulator(t, cfg)
	// Elementary: a plain average over T has 1/(2T).
	testkit.CheckRel(t, "bandwidth of the average", p.ENBWHz(0), 1/(2*0.1), 1e-9)
	cfg.TimeConstantS = 0.02
	p, d := mustDemodulator(t, cfg)
	x := testkit.Cosine(8000, 1000, 8000, 1, 0)
	dst := make([]complex128, 8000)
	d.Process(dst, x, nil)
	at := int(math.Ceil(p.SettlingS(0, 1e-3) * 8000))
	for i, y := range dst[at:] {
		if cmplx.Abs(y-1) > 1e-3 {
			t.Fatalf("frame %d, past the settling time: %v is not within 1e-3 of 1", at+i, y)
		}
	}
	if cmplx.Abs(dst[at/2]-1) < 1e-3 {
		t.Errorf("settled at half the settling time already")
	}
}

// Eight tones, each 60 dB under the noise (rms against rms), are recovered
// within what the bandwidth allows: the errors of the sixteen axes, in units of
// 2σ·√(ENBW/rate), are standard normal.
func TestDemodulatorRecoversToneUnderNoise(t *testing.T) {
	testkit.NotShort(t)
	const n, rate, sigma = 3_000_000, 48000.0, 0.1
	amplitude := math.Sqrt2 * sigma * 1e-3
	tones := make([]float64, 8)
	rng := rand.New(rand.NewPCG(60, 61))
	x := make([]float64, n)
	for i := range tones {
		tones[i] = 1500 * float64(2*i+1)
		addTo(x, testkit.Cosine(n, tones[i], rate, amplitude, float64(i)))
	}
	for i := range x {
		x[i] += sigma * rng.NormFloat64()
	}
	p, d := mustDemodulator(t, DemodConfig{RateHz: rate, TonesHz: tones, Poles: 1, TimeConstantS: 12, Every: n})
	got := last(p, d, x, nil)
	settled := p.LowPass().StepResponse(n / rate)
	chi := 0.0
	for i, y := range got {
		u := 2 * sigma * math.Sqrt(p.ENBWHz(i)/rate)
		e := y - complex(settled, 0)*cmplx.Rect(amplitude, float64(i))
		chi += (real(e)*real(e) + imag(e)*imag(e)) / (u * u)
		if snr := amplitude / u; snr < 1 {
			t.Errorf("the bandwidth leaves a ratio of %g only", snr)
		}
	}
	// χ² with 16 degrees of freedom: one in ten thousand lies outside 3 to 45.
	if chi < 3 || chi > 45 {
		t.Errorf("sum of squared errors is %.1f of their variance, want about 16", chi)
	}
}

func ExampleDemodulator() {
	plan, err := NewPlan(DemodConfig{RateHz: 48000, TonesHz: []float64{1000}, TimeConstantS: 0.01, Every: 24000})
	if err != nil {
		fmt.Println(err)
		return
	}
	x := make([]float64, 48000)
	for n := range x {
		x[n] = 0.25 * math.Cos(2*math.Pi*1000/48000*float64(n)+math.Pi/4)
	}
	d := plan.Demodulator()
	dst := make([]complex128, plan.Width()*d.Outputs(len(x)))
	for o := range d.Process(dst, x, nil) {
		fmt.Printf("%.4f at %.2f degrees\n", cmplx.Abs(dst[o]), cmplx.Phase(dst[o])*180/math.Pi)
	}
	fmt.Printf("noise bandwidth %.2f Hz, settled to 0.1 %% after %.2f s\n", plan.LowPass().ENBWHz(), plan.SettlingS(0, 1e-3))
	// Output:
	// 0.2500 at 45.00 degrees
	// 0.2500 at 45.00 degrees
	// noise bandwidth 7.81 Hz, settled to 0.1 % after 0.13 s
}
