package oracle

import (
	"errors"
	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"example.org/wheatear/lockin/spectrum"
	"math"
	"math/rand/v2"
	"testing"
)

type boundsFile struct {
	CRLB []struct {
		N                  int
		Fs                 decimalText `json:"fs_hz"`
		F0                 decimalText `json:"f0_hz"`
		A, Sigma           decimalText
		Phase              decimalText            `json:"phase_rad"`
		Asymptotic         map[string]decimalText `json:"asymptotic"`
		KnownF             map[string]decimalText `json:"exact_known_f"`
		KnownFWithOffset   map[string]decimalText `json:"exact_known_f_with_offset"`
		UnknownF           map[string]decimalText `json:"exact_unknown_f"`
		UnknownFWithOffset map[string]decimalText `json:"exact_unknown_f_with_offset"`
	} `json:"crlb"`
	Ratio struct {
		N         int
		Dut       [2]decimalText `json:"V_dut"`
		Ref       [2]decimalText `json:"V_ref"`
		SigmaDut  decimalText    `json:"sigma_dut"`
		SigmaRef  decimalText    `json:"sigma_ref"`
		RelativeU decimalText    `json:"relative_u"`
		WithHann  decimalText    `json:"u_rel_with_hann"`
	} `json:"ratio"`
	Quantisation []struct {
		Bits  int
		SNR   decimalText `json:"snr_db"`
		Noise decimalText `json:"q_noise_rms_fs2"`
	} `json:"quantisation"`
	ENOB []struct {
		SINAD decimalText `json:"sinad_db"`
		ENOB  decimalText `json:"enob"`
	} `json:"enob"`
	Johnson []struct {
		R     decimalText `json:"R_ohm"`
		T     decimalText `json:"T_K"`
		Noise decimalText `json:"nV_per_rtHz"`
	} `json:"johnson"`
}

func readBounds(t testing.TB) boundsFile {
	var f boundsFile
	testkit.ReadJSON(t, "bounds.json", &f)
	if len(f.CRLB) != 4 || len(f.Quantisation) != 9 || len(f.ENOB) != 11 || len(f.Johnson) != 7 {
		t.Fatalf("bounds.json holds %d, %d, %d, %d entries", len(f.CRLB), len(f.Quantisation), len(f.ENOB), len(f.Johnson))
	}
	return f
}

// Rife and Boorstyn 1974; Kay 1993. The figures carry fifteen digits; the last
// case has 0.43 of a cycle and a condition that costs three of them.
func TestToneBounds(t *testing.T) {
	for i, c := range readBounds(t).CRLB {
		m := ToneModel{N: c.N, RateHz: float64(c.Fs), FreqHz: float64(c.F0), Amplitude: float64(c.A), PhaseRad: float64(c.Phase), Sigma: float64(c.Sigma)}
		rel := 1e-12
		if i == 3 {
			rel = 1e-9
		}
		large := m.LargeN()
		testkit.CheckRel(t, "large N: amplitude", large.Amplitude, float64(c.Asymptotic["u_A"]), 1e-12)
		testkit.CheckRel(t, "large N: phase", large.PhaseRad, float64(c.Asymptotic["u_phase_unknown_f"]), 1e-12)
		testkit.CheckRel(t, "large N: frequency", large.FreqHz, float64(c.Asymptotic["u_freq_hz"]), 1e-12)
		for _, v := range []struct {
			known, offset bool
			want          map[string]decimalText
		}{{true, false, c.KnownF}, {true, true, c.KnownFWithOffset}, {false, false, c.UnknownF}, {false, true, c.UnknownFWithOffset}} {
			m.FreqKnown, m.OffsetWanted = v.known, v.offset
			got, err := m.Exact()
			if err != nil {
				t.Fatal(err)
			}
			testkit.CheckRel(t, "exact: amplitude", got.Amplitude, float64(v.want["u_A"]), rel)
			testkit.CheckRel(t, "exact: phase", got.PhaseRad, float64(v.want["u_phase"]), rel)
			if v.known {
				testkit.CheckRel(t, "large N: phase, known frequency", m.LargeN().PhaseRad, float64(c.Asymptotic["u_phase_known_f"]), 1e-12)
				if !math.IsInf(got.FreqHz, 1) || !math.IsInf(m.LargeN().FreqHz, 1) {
					t.Errorf("case %d: known frequency has bounds %g and %g", i, got.FreqHz, m.LargeN().FreqHz)
				}
			} else {
				testkit.CheckRel(t, "exact: frequency", got.FreqHz, float64(v.want["u_freq_hz"]), rel)
			}
		}
	}
}

func TestToneBoundsRefuse(t *testing.T) {
	for name, m := range map[string]ToneModel{
		"no samples":   {RateHz: 48000, FreqHz: 1000, Amplitude: 1, Sigma: 1},
		"no amplitude": {N: 100, RateHz: 48000, FreqHz: 1000, Sigma: 1},
		"no cycle":     {N: 10, RateHz: 48000, FreqHz: 1e-6, Amplitude: 1, Sigma: 1, PhaseRad: 1, OffsetWanted: true},
		"no rate":      {N: 100, FreqHz: 1000, Amplitude: 1, Sigma: 1},
	} {
		if b, err := m.Exact(); !errors.Is(err, ErrFit) && !errors.Is(err, phase.ErrFrequency) {
			t.Errorf("%s: got %+v, error %v", name, b, err)
		}
	}
}

// Law of propagation, JCGM 100:2008 clause 5.
func TestRatioBound(t *testing.T) {
	r := readBounds(t).Ratio
	v1, v2 := complex(float64(r.Dut[0]), float64(r.Dut[1])), complex(float64(r.Ref[0]), float64(r.Ref[1]))
	got := RatioBound(r.N, v1, v2, float64(r.SigmaDut), float64(r.SigmaRef))
	testkit.CheckRel(t, "ratio", got, float64(r.RelativeU), 1e-11)
	testkit.CheckRel(t, "ratio under a Hann window", got*math.Sqrt(spectrum.Hann().ENBWBins(r.N)), float64(r.WithHann), 1e-11)
}

// Bennett 1948; IEEE Std 1057. Figures of the table hold twelve digits or more.
func TestQuantisation(t *testing.T) {
	f := readBounds(t)
	for _, q := range f.Quantisation {
		testkit.CheckRel(t, "signal to quantisation", QuantisationSNRdB(q.Bits), float64(q.SNR), 1e-12)
		testkit.CheckRel(t, "quantisation noise", QuantisationRMS(q.Bits), float64(q.Noise), 1e-11)
	}
	for _, e := range f.ENOB {
		testkit.CheckRel(t, "effective bits", EffectiveBits(float64(e.SINAD)), float64(e.ENOB), 1e-12)
	}
	testkit.CheckRel(t, "bits there and back", EffectiveBits(QuantisationSNRdB(13)), 13, 1e-14)
}

// Nyquist 1928, k from the SI Brochure.
func TestThermalNoise(t *testing.T) {
	for _, j := range readBounds(t).Johnson {
		testkit.CheckRel(t, "thermal noise", ThermalNoise(float64(j.R), float64(j.T))*1e9, float64(j.Noise), 1e-10)
	}
}

// The four-parameter fit reaches the bound: standard deviations over n runs within
// 1 ± 4/√(2(n−1)) of it.
func TestSineFitReachesBound(t *testing.T) {
	const runs = 400
	m := ToneModel{N: 480, RateHz: 48000, FreqHz: 1003, Amplitude: 1, PhaseRad: 0.3, Sigma: 0.01, OffsetWanted: true}
	bound, err := m.Exact()
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(81, 82))
	var amplitude, phase, freq float64
	y := make([]float64, m.N)
	for range runs {
		for n := range y {
			y[n] = m.Amplitude*math.Cos(2*math.Pi*m.FreqHz/m.RateHz*float64(n)+m.PhaseRad) + m.Sigma*rng.NormFloat64()
		}
		fit, err := SineFit4(y, m.FreqHz, m.RateHz)
		if err != nil {
			t.Fatal(err)
		}
		amplitude += math.Pow(fit.Amplitude()-m.Amplitude, 2) / runs
		phase += math.Pow(fit.PhaseRad()-m.PhaseRad, 2) / runs
		freq += math.Pow(fit.FreqHz-m.FreqHz, 2) / runs
	}
	tol := 4 / math.Sqrt(2*(runs-1))
	testkit.CheckRel(t, "amplitude", math.Sqrt(amplitude), bound.Amplitude, tol)
	testkit.CheckRel(t, "phase", math.Sqrt(phase), bound.PhaseRad, tol)
	testkit.CheckRel(t, "frequency", math.Sqrt(freq), bound.FreqHz, tol)
}
