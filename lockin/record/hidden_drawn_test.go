package record

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
)

// drawHum draws a tone on a mains multiple with hum of 1 ppm of it to its level: odd
// multiples, even ones, or all, falling off as 1/k^0.5 to 1/k^2 with a scatter of 0.6 in
// the logarithm.
func drawHum(seed uint64) (sig Signal, toneHz, mainsHz float64, ratio complex128, share float64) {
	rng := rand.New(rand.NewPCG(seed, 202))
	mainsHz = []float64{50, 60}[rng.IntN(2)]
	order := 1 + rng.IntN(7)
	kind := rng.IntN(3)
	if kind == 0 {
		order |= 1
	}
	if kind == 1 {
		order = max(2, order&^1)
	}
	toneHz = mainsHz * float64(order)
	share = math.Pow(10, -6*rng.Float64())
	fall := 0.5 + 1.5*rng.Float64()
	actual := mainsHz + 0.02*rng.NormFloat64()
	const rate = 8000.0
	seconds := 0.4 + rng.Float64()
	silence := 0.0
	if rng.IntN(2) == 0 {
		silence = 0.2
	}
	noise := 0.2 * math.Pow(10, -3-2*rng.Float64())
	ratio = cmplx.Rect(math.Exp(rng.NormFloat64()), 6*rng.Float64())
	part := [2]complex128{1 / complex(math.Max(1, cmplx.Abs(ratio)), 0), 0}
	part[1] = part[0] * ratio
	level := func(k int) float64 { return math.Pow(float64(k)/float64(order), -fall) }
	n, lead := int(rate*(seconds+silence)), int(rate*silence)
	x := [][]float64{make([]float64, n), make([]float64, n)}
	into := rng.IntN(2)
	other := 0.3 * rng.Float64()
	for k := 1; k <= 12; k++ {
		if kind == 0 && k%2 == 0 || kind == 1 && k%2 == 1 {
			continue
		}
		a := 0.2 * share * level(k) * math.Exp(0.6*rng.NormFloat64())
		ph := 2 * math.Pi * rng.Float64()
		for i := range n {
			v := a * math.Cos(2*math.Pi*actual*float64(k)*float64(i)/rate+ph)
			x[into][i] += v
			x[1-into][i] += other * v
		}
	}
	for ch := range x {
		for i := range n {
			if i >= lead {
				x[ch][i] += real(cmplx.Rect(0.2, 2*math.Pi*toneHz*float64(i)/rate) * part[ch])
			}
			x[ch][i] += noise * rng.NormFloat64()
		}
	}
	return Signal{RateHz: rate, Channels: x}, toneHz, mainsHz, ratio, share
}

func hostileHum(t *testing.T, n int) {
	type outcome struct {
		trusted    bool
		off, share float64
	}
	wrong, trusted, mild, mildRead := 0, 0, 0, 0
	for seed, o := range eachRecord(n, func(seed uint64) outcome {
		sig, toneHz, mains, ratio, share := drawHum(seed)
		a, err := Analyze(sig, Config{TonesHz: []float64{toneHz}, MainsHz: mains})
		if err != nil || len(a.Tones) != 1 || finding.Worst(a.Findings) == finding.Invalid {
			return outcome{share: share}
		}
		tone := &a.Tones[0]
		u := math.Hypot(tone.ratioU(), math.Hypot(tone.LineU[0]/cmplx.Abs(tone.Phasors[0]), tone.LineU[1]/cmplx.Abs(tone.Phasors[1])))
		e := cmplx.Abs(tone.Phasors[1]/tone.Phasors[0]/ratio - 1)
		return outcome{true, e / (2.45 * u), share}
	}) {
		if o.share < 0.005 {
			mild++
		}
		if !o.trusted {
			continue
		}
		trusted++
		if o.share < 0.005 {
			mildRead++
		}
		if o.off > 3 {
			wrong++
			t.Logf("seed %d: %.1f half-widths, hum %.2g of the tone", seed+1, o.off, o.share)
		}
	}
	t.Logf("%d records, %d trusted, %d beyond 3 half-widths; %d of %d with hum below 0.5 %% read", n, trusted, wrong, mildRead, mild)
	if wrong > max(1, n/300) || mildRead < mild*8/10 {
		t.Error("too many")
	}
}

func TestToneOnDrawnHum(t *testing.T) {
	testkit.NotShort(t)
	hostileHum(t, 60)
}

func TestSoakToneOnDrawnHum(t *testing.T) {
	testkit.NeedSoak(t)
	hostileHum(t, 1200)
}
