package drawnjig

import (
	"math"
	"math/rand/v2"
)

// Config is what the owner of a jig declares. Ohm, farad, henry; u are standard
// uncertainties, tolerances half-widths of rectangles, both relative where they belong
// to a relative quantity. Zeros of what a jig file may leave out are left out.
type Config struct {
	Channels           [2]string
	NominalOhm         float64
	ReferenceTolerance float64
	DeclaredFarad      float64 // across the reference
	DeclaredInputOhm   [2]float64
	DeclaredInputFarad [2]float64
	FullScale          [2]float64 // peak volts
	MainsHz            float64
	ClockTolerance     float64
	RateHz             float64 // not in the jig file

	ContactU, StrayU, DriftU, MatchU, DelayU                   float64
	OpenFaradU, ShortOhmU, ShortHenryU, LoadFaradU, LoadHenryU float64
}

// Usual returns the declarations of a jig whose file names no more than its channels and
// its reference, with the defaults of the README.
func Usual(channels [2]string, refOhm float64) Config {
	return Config{
		Channels: channels, NominalOhm: refOhm, ReferenceTolerance: 0.01, ClockTolerance: 1e-4, RateHz: 48000,
		ContactU: 0.5e-3, StrayU: 0.02e-12, DriftU: 1e-5, MatchU: 0.01, DelayU: 0.5,
		OpenFaradU: 0.01e-12, ShortOhmU: 0.2e-3, ShortHenryU: 3e-9, LoadFaradU: 0.2e-12, LoadHenryU: 5e-9,
	}
}

// DrawConfig draws the declarations of a jig with these channels: a reference from 10 Ω
// to 100 kΩ of 0.01 to 1 %, inputs declared in half of the cases, rates of 44.1, 48 and
// 96 kHz.
func DrawConfig(rng *rand.Rand, channels [2]string) Config {
	c := Usual(channels, Rounded(Between(rng, 10, 100e3), 2))
	c.ReferenceTolerance = Pick(rng, 1e-4, 1e-3, 1e-3, 1e-2)
	c.RateHz = Pick(rng, 44100.0, 48000, 48000, 96000)
	c.MainsHz = Pick(rng, 0.0, 50, 60)
	if rng.IntN(2) == 0 {
		c.DeclaredFarad = 0.5e-12
	}
	if rng.IntN(2) == 0 {
		for i := range 2 {
			c.DeclaredInputOhm[i] = Rounded(Between(rng, 50e3, 1e6), 2)
			c.DeclaredInputFarad[i] = Rounded(Between(rng, 60e-12, 250e-12), 2)
		}
	}
	if rng.IntN(2) == 0 {
		c.FullScale = [2]float64{Rounded(Between(rng, 0.5, 3), 2), Rounded(Between(rng, 0.5, 3), 2)}
	}
	return c
}

// Draw draws a jig that keeps what is declared of it.
func Draw(rng *rand.Rand, c Config) *Jig {
	j := &Jig{Config: c, rng: rng, loads: map[Load]float64{}, Noise: Noise{Seconds: 1, Peak: 0.5, RMS: [2]float64{1e-5, 1e-5}}}
	j.ReferenceOhm = c.NominalOhm * (1 + Within(rng, c.ReferenceTolerance))
	if j.ReferenceFarad = math.Abs(1e-12 * rng.NormFloat64()); c.DeclaredFarad > 0 {
		j.ReferenceFarad = math.Max(0, c.DeclaredFarad*(1+0.5*rng.NormFloat64()))
	}
	for i := range 2 {
		j.InputOhm[i], j.InputFarad[i] = Between(rng, 25e3, 2e6), Between(rng, 50e-12, 350e-12)
		if c.DeclaredInputOhm[i] > 0 {
			j.InputOhm[i] = c.DeclaredInputOhm[i] / (1 + 0.05*rng.NormFloat64())
		}
		if c.DeclaredInputFarad[i] > 0 {
			j.InputFarad[i] = c.DeclaredInputFarad[i] * (1 + 0.1*rng.NormFloat64())
		}
	}
	j.Ground = Pick(rng, Floating, GroundAtReference, GroundAtPart)
	j.SourceOhm = Between(rng, 10, 150)
	if j.Circuit() == VirtualGround {
		j.SourceOhm = c.NominalOhm
		j.GainBandwidthHz = 1 / math.Max(1e-9, 0.5e-6*math.Abs(rng.NormFloat64()))
	}
	j.LeadOhm, j.LeadHenry = 0.2*math.Abs(rng.NormFloat64()), 1e-6*math.Abs(rng.NormFloat64())
	j.FixtureFarad = 20e-12 * math.Abs(rng.NormFloat64())
	j.Gain, j.DelaySamples = 1+j.normal2(c.MatchU), c.DelayU*rng.NormFloat64()
	j.Cross = [2]complex128{j.normal2(1e-4), j.normal2(1e-4)}
	j.OpenFarad, j.ShortOhm, j.ShortHenry = c.OpenFaradU*rng.NormFloat64(), c.ShortOhmU*rng.NormFloat64(), c.ShortHenryU*rng.NormFloat64()
	j.LoadFarad, j.LoadHenry = c.LoadFaradU*rng.NormFloat64(), c.LoadHenryU*rng.NormFloat64()
	j.PlayClock, j.RecordClock = Within(rng, c.ClockTolerance), Within(rng, c.ClockTolerance)
	if rng.IntN(2) == 0 {
		j.RecordClock = j.PlayClock // one card
	}
	j.Noise.RMS[0] = Between(rng, 1e-6, 1e-4)
	j.Noise.RMS[1] = j.Noise.RMS[0] * Between(rng, 0.5, 2)
	return j
}

// Between is log-uniform between two positive numbers.
func Between(rng *rand.Rand, low, high float64) float64 {
	return low * math.Exp(rng.Float64()*math.Log(high/low))
}

// Within is uniform between -half and half.
func Within(rng *rand.Rand, half float64) float64 { return half * (2*rng.Float64() - 1) }

// Pick is one of several.
func Pick[T any](rng *rand.Rand, from ...T) T { return from[rng.IntN(len(from))] }

// Rounded rounds a positive number to so many digits.
func Rounded(v float64, digits int) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(v))-float64(digits-1))
	return math.Round(v/unit) * unit
}
