package impedance_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

var soak = flag.Bool("soak", false, "run the long statistical tests")

// truth is what a quantity should be held by in a coverage run.
type truth struct {
	name string
	of   func(impedance.Reading) uncertain.Quantity
	want float64
}

// quantitiesOf lists the truths of an impedance; C or L by the sign of X.
func quantitiesOf(z complex128, freqHz float64) []truth {
	e := impedance.Of(z, freqHz)
	out := []truth{
		{"Re", func(r impedance.Reading) uncertain.Quantity { return r.Re }, real(z)},
		{"Im", func(r impedance.Reading) uncertain.Quantity { return r.Im }, imag(z)},
		{"|Z|", func(r impedance.Reading) uncertain.Quantity { return r.Modulus }, e.ModulusOhm},
		{"|Y|", func(r impedance.Reading) uncertain.Quantity { return r.Y.Modulus }, 1 / e.ModulusOhm},
		{"phase", func(r impedance.Reading) uncertain.Quantity { return r.Phase }, e.PhaseRad},
		{"Rs", func(r impedance.Reading) uncertain.Quantity { return r.Series.R }, e.SeriesOhm},
		{"Rp", func(r impedance.Reading) uncertain.Quantity { return r.Parallel.R }, e.ParallelOhm},
		{"Q", func(r impedance.Reading) uncertain.Quantity { return r.Q }, e.Q},
		{"D", func(r impedance.Reading) uncertain.Quantity { return r.D }, e.D},
	}
	switch {
	case imag(z) < 0:
		out = append(out, truth{"Cs", func(r impedance.Reading) uncertain.Quantity { return r.Series.C }, e.SeriesF},
			truth{"Cp", func(r impedance.Reading) uncertain.Quantity { return r.Parallel.C }, e.ParallelF})
	case imag(z) > 0:
		out = append(out, truth{"Ls", func(r impedance.Reading) uncertain.Quantity { return r.Series.L }, e.SeriesH},
			truth{"Lp", func(r impedance.Reading) uncertain.Quantity { return r.Parallel.L }, e.ParallelH})
	}
	return out
}

// observe makes one noisy observation and the inputs that a measurement would
// describe it with, together with the model that belongs to them.
type observe func(rng *rand.Rand) (*uncertain.Inputs, uncertain.Func)

// coverage counts how often a reading contradicts the truth. A quantity that is
// absent says nothing, and cannot be wrong.
func coverage(t *testing.T, z complex128, freqHz float64, runs, trials int, make observe) {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, 2))
	truths := quantitiesOf(z, freqHz)
	held, stated := map[string]int{}, map[string]int{}
	for i := range runs {
		in, f := make(rng)
		r, err := impedance.Derive(in, f, impedance.Config{Trials: trials, Seed: uint64(i)})
		if err != nil {
			t.Fatal(err)
		}
		checkSane(t, r)
		for _, q := range truths {
			got := q.of(r)
			if !got.IsAbsent() {
				stated[q.name]++
			}
			if !(got.Low > q.want || got.High < q.want) {
				held[q.name]++
			}
		}
	}
	for _, q := range truths {
		share := float64(held[q.name]) / float64(runs)
		t.Logf("%5s: %.3f, stated in %d of %d", q.name, share, stated[q.name], runs)
		// Three standard deviations of a share of 0.95; half as much again for the
		// ends of an interval that are themselves known from few trials.
		if least := 0.95 - 4.5*math.Sqrt(0.95*0.05/float64(runs)); share < least {
			t.Errorf("%s contradicts the truth in %.3f of %d runs, want 0.05", q.name, 1-share, runs)
		}
	}
}

// additive is noise of one size on both axes of Z, known.
func additive(z complex128, uRe, uIm float64) observe {
	return func(rng *rand.Rand) (*uncertain.Inputs, uncertain.Func) {
		return measured(z+complex(uRe*rng.NormFloat64(), uIm*rng.NormFloat64()), uRe, uIm, 1000, 1e-6), plain
	}
}

// polar is an error of gain and of phase, as without a calibration.
func polar(z complex128, uGain, uPhase float64) observe {
	return func(rng *rand.Rand) (*uncertain.Inputs, uncertain.Func) {
		gain, sin, cos := 1+uGain*rng.NormFloat64(), 0.0, 0.0
		sin, cos = math.Sincos(uPhase * rng.NormFloat64())
		seen := z * complex(gain*cos, gain*sin)
		var in uncertain.Inputs
		in.Add("gain", 1, uGain)
		in.Add("phase", 0, uPhase)
		return &in, func(dst, x []float64) {
			sin, cos := math.Sincos(x[1])
			out := seen * complex(x[0]*cos, x[0]*sin)
			dst[0], dst[1], dst[2] = real(out), imag(out), 1000
		}
	}
}

// repeats is noise of unknown size, estimated from n repeats.
func repeats(z complex128, u float64, n int) observe {
	return func(rng *rand.Rand) (*uncertain.Inputs, uncertain.Func) {
		seen := make([]complex128, n)
		for i := range seen {
			seen[i] = z + complex(u*rng.NormFloat64(), u*rng.NormFloat64())
		}
		mean, cov, dof, err := uncertain.MeanComplex(seen)
		if err != nil {
			panic(err) // at least two finite repeats were made above
		}
		var in uncertain.Inputs
		in.AddComplex("repeats", []complex128{mean}, mat.Symmetric(cov), dof)
		return &in, func(dst, x []float64) { dst[0], dst[1], dst[2] = x[0], x[1], 1000 }
	}
}

var coverageCases = []struct {
	name string
	z    complex128
	make func(z complex128) observe
}{
	{"perfect capacitor", complex(0, -1000), func(z complex128) observe { return additive(z, 1, 1) }},
	{"nearly perfect capacitor", complex(1, -1000), func(z complex128) observe { return additive(z, 1, 1) }},
	{"capacitor with loss just seen", complex(2, -1000), func(z complex128) observe { return additive(z, 1, 1) }},
	{"lossy inductor", complex(300, 400), func(z complex128) observe { return additive(z, 10, 20) }},
	{"inductor near its line", complex(30, 30), func(z complex128) observe { return additive(z, 5, 5) }},
	{"resistor without reactance", complex(100, 0), func(z complex128) observe { return additive(z, 0.01, 5) }},
	{"resistor with some inductance", complex(100, 3), func(z complex128) observe { return additive(z, 1, 3) }},
	{"close to a short", complex(4, -4), func(z complex128) observe { return additive(z, 1, 1) }},
	{"short", 0, func(z complex128) observe { return additive(z, 1, 1) }},
	{"uncalibrated capacitor", complex(0, -1000), func(z complex128) observe { return polar(z, 0.01, 0.3) }},
	{"uncalibrated resistor", complex(1000, 0), func(z complex128) observe { return polar(z, 0.01, 0.3) }},
	{"resistor with noise on phase", complex(1000, 0), func(z complex128) observe { return polar(z, 0.001, 0.1) }},
}

// A perfect capacitor in noise, two thousand times: no interval may miss the
// truth more often than it says, and D is never negative (checkSane).
func TestIntervalsOfAPerfectCapacitor(t *testing.T) {
	coverage(t, complex(0, -1000), 1000, 2000, 1000, additive(complex(0, -1000), 1, 1))
}

func TestSoakCoverage(t *testing.T) {
	if !*soak {
		t.Skip("statistics of many runs: use -soak")
	}
	for _, c := range coverageCases {
		t.Run(c.name, func(t *testing.T) { coverage(t, c.z, 1000, 2000, 2000, c.make(c.z)) })
	}
	t.Run("four repeats of a lossy capacitor", func(t *testing.T) {
		z := complex(300, -1000)
		coverage(t, z, 1000, 2000, 2000, repeats(z, 10, 4))
	})
}
