package oracle

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

// text numbers of the reference files carry more digits than a float64 literal.
type decimalText float64

func (d *decimalText) UnmarshalJSON(b []byte) error {
	text := string(b)
	if u, err := strconv.Unquote(text); err == nil {
		text = u
	}
	v, err := strconv.ParseFloat(text, 64)
	*d = decimalText(v)
	return err
}

type sineValues struct {
	FreqHz    decimalText `json:"frequency_hz"`
	Cos       decimalText `json:"a_cos"`
	Sin       decimalText `json:"b_sin"`
	Offset    decimalText `json:"offset"`
	Amplitude decimalText `json:"amplitude"`
	Phase     decimalText `json:"phase_rad"`
	RMS       decimalText `json:"rms_residual"`
	SINAD     decimalText `json:"sinad_db"`
}

type sineCase struct {
	Name       string
	N          int
	Fs         float64     `json:"fs_hz"`
	F0         float64     `json:"f0_hz"`
	A          float64     `json:"A"`
	Phase      float64     `json:"phase_rad"`
	Offset     float64     `json:"offset"`
	Eps        float64     `json:"eps"`
	FitHz      float64     `json:"fit_frequency_hz"`
	SumY       decimalText `json:"sum_y"`
	Three      *sineValues `json:"three_parameter"`
	Four       *sineValues `json:"four_parameter"`
	From1003   *sineValues `json:"four_parameter_from_1003"`
	Iterations []sineValues
}

// samples come from an integer generator that anyone can repeat.
func (c sineCase) samples() []float64 {
	y := make([]float64, c.N)
	for n := range y {
		e := float64((7*n*n+3*n)%17-8) / 8
		y[n] = c.A*math.Cos(2*math.Pi*c.F0*float64(n)/c.Fs+c.Phase) + c.Offset + c.Eps*e
	}
	return y
}

func sineCases(t testing.TB) []sineCase {
	var file struct{ Cases []sineCase }
	testkit.ReadJSON(t, "sinefit.json", &file)
	if len(file.Cases) != 4 {
		t.Fatalf("%d cases, want 4", len(file.Cases))
	}
	return file.Cases
}

// IEEE Std 1057-2017, recomputed in 50 digits: fitted values to 1e-11, frequency
// to 1e-12, iterates to 1e-9.
func TestSineFit3(t *testing.T) {
	for _, c := range sineCases(t) {
		y, sum := c.samples(), 0.0
		for _, v := range y {
			sum += v
		}
		testkit.CheckRel(t, c.Name+": data", sum, float64(c.SumY), 1e-12)
		fit, err := SineFit3(y, c.FitHz, c.Fs)
		if err != nil {
			t.Fatal(err)
		}
		checkSineFit(t, c.Name, fit, *c.Three)
	}
}

func TestSineFit4(t *testing.T) {
	checked := 0
	for _, c := range sineCases(t) {
		want, start := c.Four, c.FitHz
		if c.From1003 != nil {
			want, start = c.From1003, 1003
		}
		if want == nil {
			continue
		}
		fit, err := SineFit4(c.samples(), start, c.Fs)
		if err != nil {
			t.Fatal(err)
		}
		testkit.CheckRel(t, c.Name+": frequency", fit.FreqHz, float64(want.FreqHz), 1e-12)
		checkSineFit(t, c.Name, fit, *want)
		for i, step := range fit.Iterates {
			w := c.Iterations[min(i, len(c.Iterations)-1)]
			name := fmt.Sprintf("%s: iterate %d", c.Name, i)
			testkit.CheckRel(t, name+" frequency", step.FreqHz, float64(w.FreqHz), 1e-9)
			testkit.CheckRel(t, name+" cos", step.Cos, float64(w.Cos), 1e-9)
			testkit.CheckRel(t, name+" sin", step.Sin, float64(w.Sin), 1e-9)
			testkit.CheckRel(t, name+" offset", step.Offset, float64(w.Offset), 1e-9)
		}
		if n := len(fit.Iterates); n < 4 || n > 8 {
			t.Errorf("%s: %d iterates, want about five", c.Name, n)
		}
		checked++
	}
	if checked != 2 {
		t.Errorf("%d cases checked, want 2", checked)
	}
}

func checkSineFit(t *testing.T, name string, fit SineFit, want sineValues) {
	t.Helper()
	testkit.CheckRel(t, name+": cos", fit.Cos, float64(want.Cos), 1e-11)
	testkit.CheckRel(t, name+": sin", fit.Sin, float64(want.Sin), 1e-11)
	testkit.CheckRel(t, name+": offset", fit.Offset, float64(want.Offset), 1e-11)
	testkit.CheckRel(t, name+": amplitude", fit.Amplitude(), float64(want.Amplitude), 1e-11)
	testkit.CheckRel(t, name+": phase", fit.PhaseRad(), float64(want.Phase), 1e-11)
	if math.IsInf(float64(want.SINAD), 1) {
		if fit.RMSResidual > 1e-15 || fit.SINADdB() < 290 {
			t.Errorf("%s: residual %g, want none", name, fit.RMSResidual)
		}
		return
	}
	testkit.CheckRel(t, name+": residual", fit.RMSResidual, float64(want.RMS), 1e-11)
	testkit.CheckRel(t, name+": SINAD", fit.SINADdB(), float64(want.SINAD), 1e-11)
}

// Any sine is recovered from a start within 0.4 bin.
func TestSineFit4Recovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(60, 400).Draw(t, "n")
		cycles := rapid.Float64Range(3, float64(n)/2-3).Draw(t, "cycles")
		c := sineCase{N: n, Fs: 1000, F0: cycles * 1000 / float64(n), A: rapid.Float64Range(0.01, 10).Draw(t, "A"),
			Phase: rapid.Float64Range(-3, 3).Draw(t, "phase"), Offset: rapid.Float64Range(-0.1, 0.1).Draw(t, "offset")}
		start := c.F0 + rapid.Float64Range(-0.4, 0.4).Draw(t, "off")*1000/float64(n)
		fit, err := SineFit4(c.samples(), start, c.Fs)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(fit.FreqHz-c.F0) > 1e-9*c.F0 || math.Abs(fit.Amplitude()-c.A) > 1e-9*c.A || math.Abs(math.Remainder(fit.PhaseRad()-c.Phase, 2*math.Pi)) > 1e-8 {
			t.Fatalf("from %g Hz: got %g Hz, %g, %g rad", start, fit.FreqHz, fit.Amplitude(), fit.PhaseRad())
		}
	})
}

func TestSineFitRefuses(t *testing.T) {
	y := sineCase{N: 100, Fs: 1000, F0: 100, A: 1}.samples()
	bad := append([]float64{math.NaN()}, y...)
	for name, f := range map[string]func() (SineFit, error){
		"few samples":   func() (SineFit, error) { return SineFit3(y[:3], 100, 1000) },
		"few for four":  func() (SineFit, error) { return SineFit4(y[:4], 100, 1000) },
		"no frequency":  func() (SineFit, error) { return SineFit3(y, 0, 1000) },
		"at half rate":  func() (SineFit, error) { return SineFit3(y, 500, 1000) },
		"not a number":  func() (SineFit, error) { return SineFit4(bad, 100, 1000) },
		"rate":          func() (SineFit, error) { return SineFit3(y, 100, 0) },
		"far too slow":  func() (SineFit, error) { return SineFit3(y, 1e-7, 1000) },
		"far from it":   func() (SineFit, error) { return SineFit4(y, 160, 1000) },
		"nothing there": func() (SineFit, error) { return SineFit4(make([]float64, 100), 100, 1000) },
	} {
		if fit, err := f(); !errors.Is(err, ErrFit) && !errors.Is(err, phase.ErrFrequency) {
			t.Errorf("%s: got %+v, error %v", name, fit, err)
		}
	}
}

func ExampleSineFit4() {
	y := make([]float64, 200)
	for n := range y {
		y[n] = 0.5*math.Cos(2*math.Pi*1234.5/48000*float64(n)-1.1) - 0.02
	}
	fit, err := SineFit4(y, 1230, 48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f Hz, amplitude %.4f, phase %.4f rad, offset %.4f\n", fit.FreqHz, fit.Amplitude(), fit.PhaseRad(), fit.Offset)
	// Output: 1234.500 Hz, amplitude 0.5000, phase -1.1000 rad, offset -0.0200
}
