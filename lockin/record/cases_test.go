package record

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"
)

// What goes wrong with real records, each kind as a record made here: a second at
// 48 kHz with 0.5 sin on the first channel and 0.25 sin, 30° late, on the second.

const (
	caseRate   = 48000.0
	case16bit  = 2e-5 // what rounding to 16 bit does to the ratio of two such tones, computed
	caseSecond = 48000
)

var caseRatio = cmplx.Rect(0.5, -math.Pi/6)

func caseRecord(frames int, freqHz float64) Signal {
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range x[0] {
		ph := 2 * math.Pi * freqHz / caseRate * float64(i)
		x[0][i], x[1][i] = 0.5*math.Sin(ph), 0.25*math.Sin(ph-math.Pi/6)
	}
	return Signal{RateHz: caseRate, Channels: x}
}

// rounded is the record as a file of so many bits holds it.
func rounded(sig Signal, bits int) Signal {
	scale := math.Ldexp(1, bits-1)
	for _, ch := range sig.Channels {
		for i, v := range ch {
			ch[i] = math.Max(-scale, math.Min(scale-1, math.Round(v*scale))) / scale
		}
	}
	sig.Bits = bits
	return sig
}

func without(sig Signal, first, end int) Signal {
	for ch, x := range sig.Channels {
		sig.Channels[ch] = append(append([]float64(nil), x[:first]...), x[end:]...)
	}
	return sig
}

func analyzed(t *testing.T, sig Signal, cfg Config) *Analysis {
	t.Helper()
	a, err := Analyze(sig, cfg)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func checkRatio(t *testing.T, a *Analysis, within float64) {
	t.Helper()
	if len(a.Tones) != 1 {
		t.Fatalf("%d tones, want 1; findings %v", len(a.Tones), a.Findings)
	}
	tone := a.Tones[0]
	got := tone.Phasors[1] / tone.Phasors[0]
	if e := cmplx.Abs(got/caseRatio - 1); !(e < within) {
		t.Errorf("ratio %.6f∠%.4f°, off by %.2g; want within %.2g", cmplx.Abs(got), cmplx.Phase(got)*180/math.Pi, e, within)
	}
	if !insideThree(&tone, caseRatio) {
		t.Errorf("ratio %v is more than three of its own uncertainties (%.2g) off", got, tone.ratioU())
	}
}

func insideThree(t *ToneFit, want complex128) bool {
	return cmplx.Abs(t.Phasors[1]/t.Phasors[0]/want-1) <= 3*math.Sqrt2*t.ratioU()
}

func findingOf(a *Analysis, code finding.Code) *finding.Finding {
	for i := range a.Findings {
		if a.Findings[i].Code == code {
			return &a.Findings[i]
		}
	}
	return nil
}

func TestRecordRoundedToSixteenBits(t *testing.T) {
	checkRatio(t, analyzed(t, rounded(caseRecord(caseSecond, 1000), 16), Config{TonesHz: []float64{1000}}), case16bit)
}

func TestMissingFramesAreFoundAndAvoided(t *testing.T) {
	testkit.NotShort(t)
	for _, lost := range []int{24, 473} { // half a period: a plain correlation gives 0/0
		a := analyzed(t, rounded(without(caseRecord(caseSecond, 1000), 24000, 24000+lost), 16), Config{TonesHz: []float64{1000}})
		checkRatio(t, a, case16bit)
		if got := cmplx.Abs(a.Tones[0].Phasors[0]); math.Abs(got-0.5) > 1e-4 {
			t.Errorf("%d frames lost: level %.5f, want 0.5", lost, got)
		}
		f := findingOf(a, finding.Dropout)
		if f == nil || f.AtS == nil || math.Abs(*f.AtS-0.5) > 2e-3 {
			t.Errorf("%d frames lost at 0.5 s: %v", lost, a.Findings)
		}
	}
}

func TestZeroedFramesAreFoundAndAvoided(t *testing.T) {
	sig := caseRecord(caseSecond, 1000)
	for _, ch := range sig.Channels {
		clear(ch[24000:24256])
	}
	a := analyzed(t, rounded(sig, 16), Config{TonesHz: []float64{1000}})
	checkRatio(t, a, case16bit)
	if f := findingOf(a, finding.Dropout); f == nil || !strings.Contains(f.Detail, "zero") {
		t.Errorf("256 zeros: %v", a.Findings)
	}
}

// 997 Hz in 4800 frames is 99.7 periods: with an offset of 0.3 a plain correlation is
// off by 0.55 % (computed).
func TestOffsetDoesNotLeakIntoTheTone(t *testing.T) {
	sig := caseRecord(4800, 997)
	for i := range sig.Channels[1] {
		sig.Channels[1][i] += 0.3
	}
	a := analyzed(t, sig, Config{TonesHz: []float64{997}})
	checkRatio(t, a, 1e-6)
	if math.Abs(a.Offset[1]-0.3) > 1e-6 {
		t.Errorf("offset %.6f, want 0.3", a.Offset[1])
	}
}

func TestToneBesideItsNominalFrequency(t *testing.T) {
	for _, tc := range []struct {
		toldHz   float64
		severity finding.Severity
	}{{1000, finding.Warning}, {1003, finding.Invalid}} {
		a := analyzed(t, caseRecord(caseSecond, 1000.37), Config{TonesHz: []float64{tc.toldHz}})
		checkRatio(t, a, 1e-6)
		if got := a.Tones[0]; math.Abs(got.FreqHz-1000.37) > 1e-3 || math.Abs(cmplx.Abs(got.Phasors[0])-0.5) > 1e-6 {
			t.Errorf("told %g Hz: tone at %.6f Hz, level %.6f; want 1000.37 and 0.5", tc.toldHz, got.FreqHz, cmplx.Abs(got.Phasors[0]))
		}
		if f := findingOf(a, finding.OffFrequency); f == nil || f.Severity != tc.severity || !strings.Contains(f.Detail, "1000.370 Hz") {
			t.Errorf("told %g Hz: %v", tc.toldHz, a.Findings)
		}
	}
}

func TestNoToneInNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	sig := caseRecord(caseSecond, 1000)
	for _, ch := range sig.Channels {
		for i := range ch {
			ch[i] = 0.5 * rng.NormFloat64()
		}
	}
	a := analyzed(t, sig, Config{TonesHz: []float64{1000}})
	f := findingOf(a, finding.NoSignal)
	if f == nil || f.Severity != finding.Invalid || !strings.Contains(f.Detail, "no tone found") {
		t.Errorf("noise alone: %v", a.Findings)
	}
}

func TestOneChannelOfZeros(t *testing.T) {
	sig := caseRecord(caseSecond, 1000)
	clear(sig.Channels[1])
	a := analyzed(t, sig, Config{TonesHz: []float64{1000}})
	if len(a.Tones) != 1 || !a.Silent[1] || a.Silent[0] || a.Tones[0].Detected[1] || !a.Tones[0].Detected[0] {
		t.Errorf("silent %v, tones %+v", a.Silent, a.Tones)
	}
}

func TestValuesAboveFullScaleAreUsed(t *testing.T) {
	sig := caseRecord(caseSecond, 1000)
	for _, ch := range sig.Channels {
		for i := range ch {
			ch[i] *= 4
		}
	}
	a := analyzed(t, sig, Config{TonesHz: []float64{1000}})
	checkRatio(t, a, 1e-9)
	if got := cmplx.Abs(a.Tones[0].Phasors[0]); math.Abs(got-2) > 1e-9 {
		t.Errorf("level %.9f, want 2", got)
	}
	if f := findingOf(a, finding.Clipped); f != nil {
		t.Errorf("a float record above 1 is not clipped: %v", *f)
	}
}

// A wire the wrong way round: ratios at ±179.9° are neighbours.
func TestPhaseNearHalfATurn(t *testing.T) {
	testkit.NotShort(t)
	for _, deg := range []float64{179.9, -179.9} {
		sig := caseRecord(caseSecond, 1000)
		for i := range sig.Channels[1] {
			sig.Channels[1][i] = 0.25 * math.Sin(2*math.Pi*1000/caseRate*float64(i)+deg*math.Pi/180)
		}
		tone := analyzed(t, sig, Config{TonesHz: []float64{1000}}).Tones[0]
		if e := cmplx.Abs(tone.Phasors[1]/tone.Phasors[0] + 0.5); e > 0.5*0.2*math.Pi/180 {
			t.Errorf("%g°: ratio %v, want -0.5 within 0.2°", deg, tone.Phasors[1]/tone.Phasors[0])
		}
	}
}

// Where nothing is asked for, tones are told from hum by their strength: also one on a
// mains multiple is a tone if no lower multiple comes near it.
func TestTonesAreFoundUnasked(t *testing.T) {
	sig := caseRecord(caseSecond, 1000)
	for ch, x := range sig.Channels {
		for i := range x {
			ph := 2 * math.Pi / caseRate * float64(i)
			x[i] += 0.1*math.Sin(ph*3217+float64(ch)) + 1e-3*math.Sin(ph*49.98) + 3e-4*math.Sin(ph*149.94)
		}
	}
	a := analyzed(t, rounded(sig, 16), Config{})
	if len(a.Tones) != 2 || math.Abs(a.Tones[0].FreqHz-1000) > 0.01 || math.Abs(a.Tones[1].FreqHz-3217) > 0.01 {
		t.Errorf("tones %+v, want 1000 and 3217 Hz", a.Tones)
	}
}

// A record holds more than was asked for: it must not pass for noise or hum.
func TestTonesBesideThoseAskedFor(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	sig := caseRecord(caseSecond, 1000)
	for ch, x := range sig.Channels {
		for i := range x {
			ph := 2 * math.Pi / caseRate * float64(i)
			for _, f := range []float64{1007, 317.3, 5003.1, 9100} {
				x[i] += 0.05 * math.Sin(ph*f+float64(ch))
			}
			x[i] += 1e-5 * rng.NormFloat64()
		}
	}
	a := analyzed(t, sig, Config{TonesHz: []float64{1000}})
	checkRatio(t, a, 1e-5)
	if u := a.Tones[0].ratioU(); u > 1e-6 {
		t.Errorf("u of the ratio %.2g: the other tones were taken for noise", u)
	}
	if f := findingOf(a, finding.Hum); f != nil {
		t.Errorf("no hum in this record: %v", *f)
	}
}

// Tones found unasked have each a frequency of their own.
func TestFoundTonesHaveTheirOwnFrequencies(t *testing.T) {
	sig := caseRecord(caseSecond, 119.97)
	for ch, x := range sig.Channels {
		for i := range x {
			x[i] += 0.2 * math.Sin(2*math.Pi/caseRate*10000.41*float64(i)+float64(ch))
		}
	}
	a := analyzed(t, rounded(sig, 24), Config{})
	if len(a.Tones) != 2 || math.Abs(a.Tones[0].FreqHz-119.97) > 1e-4 || math.Abs(a.Tones[1].FreqHz-10000.41) > 1e-4 {
		t.Errorf("found %+v, want 119.97 and 10000.41 Hz", a.Tones)
	}
}

func TestBreakInARecordOfUnknownTones(t *testing.T) {
	testkit.NotShort(t)
	a := analyzed(t, rounded(without(caseRecord(2*caseSecond, 1000), 60000, 60373), 16), Config{})
	if len(a.Tones) != 1 || findingOf(a, finding.Dropout) == nil {
		t.Errorf("tones %+v, findings %v", a.Tones, a.Findings)
	}
}

// Many tones, several of them near mains multiples, none of them hum.
func TestManyTonesAreFoundUnasked(t *testing.T) {
	want := []float64{53, 97, 203, 403, 503, 797, 1003, 1253, 1597, 2003, 5003}
	rng := rand.New(rand.NewPCG(2, 3))
	sig := caseRecord(caseSecond, 20)
	for ch, x := range sig.Channels {
		for i := range x {
			ph := 2 * math.Pi / caseRate * float64(i)
			x[i] *= 0.2
			for k, f := range want {
				x[i] += 0.03 * math.Sin(ph*f+float64(3*k+ch))
			}
			x[i] += 2e-4*math.Sin(ph*50.02) + 1e-5*rng.NormFloat64()
		}
	}
	a := analyzed(t, sig, Config{})
	if len(a.Tones) != len(want)+1 {
		t.Fatalf("%d tones found, want %d", len(a.Tones), len(want)+1)
	}
	for i, f := range want {
		if math.Abs(a.Tones[i+1].FreqHz-f) > 1e-3 {
			t.Errorf("tone %d at %g Hz, want %g", i+1, a.Tones[i+1].FreqHz, f)
		}
	}
}

// The player stopped for 300 ms in the middle: what is left on one side is used, and said.
func TestToneThatPauses(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	sig := caseRecord(2*caseSecond, 1000)
	for _, x := range sig.Channels {
		clear(x[40000:54400])
		for i := range x {
			x[i] += 1e-5 * rng.NormFloat64()
		}
	}
	a := analyzed(t, sig, Config{TonesHz: []float64{1000}})
	checkRatio(t, a, 1e-5)
	if f := findingOf(a, finding.Dropout); f == nil || f.Severity != finding.Warning || a.First < 54400 {
		t.Errorf("used %d to %d, findings %v", a.First, a.End, a.Findings)
	}
}
