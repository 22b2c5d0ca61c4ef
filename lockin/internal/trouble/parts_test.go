package trouble

import (
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// changePoint against trying all pairs.
func TestChangePointIsTheBest(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for trial := 0; trial < 300; trial++ {
		n := 1 + rng.IntN(12)
		left, right := make([]float64, n), make([]float64, n)
		for i := range left {
			left[i], right[i] = rng.ExpFloat64(), rng.ExpFloat64()
		}
		void, extra := rng.Float64(), rng.Float64()
		want := math.Inf(1)
		for p := 0; p <= n; p++ {
			for q := p; q <= n; q++ {
				want = math.Min(want, splitCost(left, right, p, q, void, extra))
			}
		}
		p, q, cost := changePoint(left, right, void, extra)
		// Sums of at most twelve values, in another order.
		if math.Abs(cost-want) > 1e-13 || math.Abs(splitCost(left, right, p, q, void, extra)-want) > 1e-13 {
			t.Fatalf("%v %v: split at %d, %d costs %g, told %g, best is %g", left, right, p, q, splitCost(left, right, p, q, void, extra), cost, want)
		}
	}
}

func splitCost(left, right []float64, p, q int, void, extra float64) float64 {
	c := void * float64(q-p)
	if q > p {
		c += extra
	}
	for _, v := range left[:p] {
		c += v
	}
	for _, v := range right[q:] {
		c += v
	}
	return c
}

func TestFitSinesRecoversPhasors(t *testing.T) {
	turns := []float64{1030. / 48000, 7001. / 48000}
	want := []complex128{cmplx.Rect(0.4, 1.1), cmplx.Rect(0.01, -2)}
	x := make([]float64, 4000)
	for i := range x {
		x[i] = 0.03
		for k, z := range want {
			x[i] += real(z * turnTo(turns[k], i))
		}
	}
	s, ok := fitSines(x, 517, 3333, turns)
	if !ok {
		t.Fatal("not fitted")
	}
	for k := range want { // the trifle on the diagonal pulls towards zero by 2e-9
		if cmplx.Abs(s.z[k]-want[k]) > 5e-9*0.4 {
			t.Errorf("tone %d: %v, want %v", k, s.z[k], want[k])
		}
	}
	if math.Abs(s.dc-0.03) > 1e-9 || s.variance > 1e-17 {
		t.Errorf("dc %g, variance %g", s.dc, s.variance)
	}
	for _, r := range s.residual(x, 0, 4000) {
		if math.Abs(r) > 1e-8 {
			t.Fatalf("residual %g outside the stretch fitted", r)
		}
	}
	if _, ok := fitSines(x, 0, 9, turns); ok {
		t.Error("nine samples for five unknowns were taken")
	}
}

// The noise of a block that followTone states is what its phasors scatter by.
func TestTrackNoiseIsRight(t *testing.T) {
	for _, freq := range []float64{50, 1030, 15000, 23800} {
		r := testkit.SteadyBase(freq, 40)
		r.Seconds = 4
		x := r.Make(7)[0]
		tr := followTone(x, freq/48000, 0, len(x), trackLength(48000, freq, 0))
		var mean complex128
		for _, z := range tr.z {
			mean += z / complex(float64(len(tr.z)), 0)
		}
		spread := 0.0
		for _, z := range tr.z {
			spread += num.SqAbs(z-mean) / float64(len(tr.z))
		}
		// 200 and more blocks of two bins each: both figures within 8 %, three times that.
		if got := tr.noise / math.Sqrt(spread); got < 0.75 || got > 1.3 {
			t.Errorf("%g Hz: noise %g, scatter %g", freq, tr.noise, math.Sqrt(spread))
		}
		if math.Abs(tr.level-0.5) > 0.01 {
			t.Errorf("%g Hz: level %g", freq, tr.level)
		}
	}
}

// Phases of a block are linear in white noise, so that the threshold can be tried
// on Hann sums of white noise alone.
func TestStepThresholdFalseAlarms(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{4, 8, 20, 100} {
		const sub = 8 // steps of noise in half a block
		trials, alarms := 60000/n, 0
		for trial := 0; trial < trials; trial++ {
			d := hannSteps(rng, n, sub)
			centre, sigma := num.RobustSpread(d)
			sigma = math.Max(sigma, math.Sqrt(3*2*sub)) // the noise beside the tone
			for _, v := range d {
				if math.Abs(v-centre) > stepThreshold(n)*sigma {
					alarms++
					break
				}
			}
		}
		if alarms > testkit.Chance(trials, 1e-4) {
			t.Errorf("%d steps: %d false alarms in %d", n, alarms, trials)
		}
	}
}

// hannSums returns n Hann-weighted sums of white noise that overlap by half.
func hannSums(rng *rand.Rand, n, sub int) []float64 {
	w := make([]float64, (n+1)*sub)
	for i := range w {
		w[i] = rng.NormFloat64()
	}
	sum := make([]float64, n)
	for k := range sum {
		for i := 0; i < 2*sub; i++ {
			sum[k] += w[k*sub+i] * (1 - math.Cos(math.Pi*(float64(i)+0.5)/float64(sub)))
		}
	}
	return sum
}

// hannSteps returns n differences of such sums, of variance 3·2·sub.
func hannSteps(rng *rand.Rand, n, sub int) []float64 {
	sum := hannSums(rng, n+2, sub)
	d := make([]float64, n)
	for k := range d {
		d[k] = sum[k+2] - sum[k]
	}
	return d
}

func TestConstantRuns(t *testing.T) {
	a := []float64{1, 2, 2, 2, 2, 3, 0, 0, 0, 5, 5}
	b := []float64{7, 7, 7, 7, 7, 7, 1, 1, 1, 2, 2}
	dead := make([]float64, len(a))
	for _, c := range []struct {
		x    [][]float64
		want []run
	}{
		{[][]float64{a}, []run{{1, 5}, {6, 9}}},
		{[][]float64{a, b}, []run{{1, 5}, {6, 9}}},
		{[][]float64{b}, []run{{0, 6}, {6, 9}}},
		{[][]float64{a, dead}, []run{{1, 5}, {6, 9}}},
		{[][]float64{dead}, nil},
	} {
		got := ConstantRuns(c.x, 0, len(a), 3)
		if len(got) != len(c.want) {
			t.Errorf("%v: %v, want %v", c.x, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%v: %v, want %v", c.x, got, c.want)
			}
		}
	}
}

func TestSampleGrid(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{
		{[]float64{0.25, -0.5, 0}, 0.25}, {[]float64{1. / 32768, 0.5}, 1. / 32768}, {[]float64{math.Exp2(-23)}, math.Exp2(-23)},
		{[]float64{0.1}, 0}, {[]float64{0, 1, -1}, 1}, {nil, 1},
	} {
		if got := SampleGrid(c.x); got != c.want {
			t.Errorf("%v: grid %g, want %g", c.x, got, c.want)
		}
	}
	if got := sampleStep([]float64{3, 3, 5, 4.5, 9}); got != 0.5 {
		t.Errorf("smallest step %g, want 0.5", got)
	}
}

// The bins of the static curve are those of the angle itself.
func TestAcosGridAgrees(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for _, bins := range []int{48, 200, curveBins} {
		g := acosTable(bins)
		for i := 0; i < 20000; i++ {
			u := 2*rng.Float64() - 1
			angle := math.Acos(u) / math.Pi * float64(bins)
			if math.Abs(angle-math.Round(angle)) < 1e-9 {
				continue // on an edge
			}
			if got, want := g.bin(u), int(angle); got != want {
				t.Fatalf("%d bins, u = %g: bin %d, want %d", bins, u, got, want)
			}
		}
		if g.bin(1) != 0 || g.bin(-1) != bins-1 {
			t.Errorf("%d bins: ends fall into %d and %d", bins, g.bin(1), g.bin(-1))
		}
	}
}

// The chances that tests state are those of noise: a tenth of white series has
// p below a tenth.
func TestStatedChancesAreRight(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	const trials = 4000
	below := func(f func() float64) (tenth, hundredth float64) {
		for i := 0; i < trials; i++ {
			p := f()
			if p < 0.1 {
				tenth += 1. / trials
			}
			if p < 0.01 {
				hundredth += 1. / trials
			}
		}
		return tenth, hundredth
	}
	tenth, hundredth := below(func() float64 { return fitTrend(hannSums(rng, 60, 4)).p })
	// The blocks' overlap is allowed for in the mean, not in the degrees of freedom.
	if tenth < 0.08 || tenth > 0.14 || hundredth > 0.02 {
		t.Errorf("trend: %g below 0.1, %g below 0.01", tenth, hundredth)
	}
	tenth, hundredth = below(func() float64 {
		power := make([]float64, 400)
		for i := range power {
			power[i] = rng.ExpFloat64()
		}
		return 5 * linePower(power, 200, 2)
	})
	// Five bins; the scatter of the trimmed mean adds a little.
	if tenth < 0.07 || tenth > 0.14 || hundredth > 0.025 {
		t.Errorf("line: %g below 0.1, %g below 0.01", tenth, hundredth)
	}
}

func TestTrendOfAParabola(t *testing.T) {
	y := make([]float64, 101)
	for i := range y {
		u := 2*(float64(i)+0.5)/101 - 1
		y[i] = 3 + 0.5*u + 2*u*u
	}
	tr := fitTrend(y)
	// u² = (2·P2+1)/3: b2 = 4/3. The vertex at −1/8 lies 1/32 below 3, the end at 5.5.
	if math.Abs(tr.b1-0.5) > 1e-12 || math.Abs(tr.b2-4./3) > 1e-12 || math.Abs(tr.change()-(2.5+1./32)) > 1e-12 {
		t.Errorf("%+v, change %g", tr, tr.change())
	}
	if tr.p > 1e-30 {
		t.Errorf("an exact parabola has p = %g", tr.p)
	}
}

func TestFoldedLine(t *testing.T) {
	// 44.1 kHz seen at 48 kHz is 3.9 kHz from the rate.
	for _, c := range []struct{ hz, rate, want float64 }{{44100, 48000, 3900}, {48000, 44100, 3900}, {88200, 48000, 7800}, {32000, 44100, 12100}, {1000, 48000, 1000}} {
		if got := FoldedLine(c.hz, c.rate); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%g at %g: %g, want %g", c.hz, c.rate, got, c.want)
		}
	}
	if !Explained(16000, 48000, 3, nil) || Explained(3900, 48000, 3, []float64{1030}) || !Explained(3900, 48000, 3, []float64{1300}) {
		t.Error("multiples of 1 kHz and of the tone, and no others, explain a line")
	}
}
