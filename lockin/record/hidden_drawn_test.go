package record

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/drawnjig"
	"example.org/wheatear/lockin/internal/testkit"
)

// humCase is a tone on or beside a mains multiple with hum of 1 ppm of it to its level.
type humCase struct {
	drawnjig.Record
	toneHz, mainsHz float64
	ratio           complex128
	single          bool    // no other line than that by the tone
	cost            float64 // by how much the ratio is off where hum counts as tone
	clean           float64 // half-width without hum
	traced          bool    // something in the record tells of the line
}

// drawHum draws one: odd multiples, even ones, all, or one line alone; falling off as
// 1/k^0.5 to 1/k^2 with a scatter of 0.6 in the logarithm; mains off by up to 0.1 %,
// drifting; an amplitude that swings by up to 5 %; half of the tones with their sign
// turned, and a third beside the line.
func drawHum(seed uint64) humCase {
	rng := rand.New(rand.NewPCG(seed, 2024))
	c := humCase{mainsHz: drawnjig.Pick(rng, 50.0, 60)}
	order, kind := 1+rng.IntN(8), rng.IntN(4)
	switch kind {
	case 0:
		order = (order - 1) | 1
	case 1:
		order = max(2, order&^1)
	}
	c.single = kind == 3
	c.toneHz = c.mainsHz * float64(order)
	if rng.IntN(3) == 0 {
		c.toneHz += drawnjig.Between(rng, 0.02, 3) * drawnjig.Pick(rng, -1.0, 1)
	}
	share := drawnjig.Between(rng, 1e-6, 1)
	fall := 0.5 + 1.5*rng.Float64()
	part := cmplx.Rect(math.Exp(rng.NormFloat64()), 6*rng.Float64())
	hear := [2]complex128{1 / complex(math.Max(1, cmplx.Abs(part)), 0), 0}
	hear[1] = hear[0] * part
	c.ratio = part
	c.Record = drawnjig.Record{RateHz: 8000, Seconds: 0.4 + rng.Float64(), Before: drawnjig.Pick(rng, 0, 0.2), FadeS: 0.01, TurnS: 0.04,
		Tones: []drawnjig.Tone{{FreqHz: c.toneHz, Amplitude: 0.2, Phase: 6 * rng.Float64()}},
		Hear:  func(float64) [2]complex128 { return hear },
		Hum: drawnjig.Hum{Hz: c.mainsHz * (1 + drawnjig.Within(rng, 1e-3)), Drift: 0.003 * rng.NormFloat64(), Swing: drawnjig.Pick(rng, 0, 0.05*rng.Float64()),
			SwingHz: 0.3 + 2*rng.Float64()}}
	if c.Before == 0 {
		c.FadeS = 0 // cut out of what stood already
	} else {
		c.After = 0.05
	}
	noise := 0.2 * drawnjig.Between(rng, 1e-5, 1e-3)
	c.Noise = [2]float64{noise, noise}
	if rng.IntN(2) == 0 {
		c.TurnAtS = c.Seconds / 2
	}
	into, other := rng.IntN(2), 0.3*rng.Float64()
	var under [2]complex128
	for k := 1; k <= 12; k++ {
		if kind == 0 && k%2 == 0 || kind == 1 && k%2 == 1 || c.single && k != order {
			continue
		}
		a := cmplx.Rect(0.2*share*math.Pow(float64(k)/float64(order), -fall)*math.Exp(0.6*rng.NormFloat64()), 6.28*rng.Float64())
		line := drawnjig.HumLine{Order: k}
		line.Amplitude[into], line.Amplitude[1-into] = a, a*complex(other, 0)
		c.Hum.Lines = append(c.Hum.Lines, line)
		if k == order {
			under = line.Amplitude
		}
	}
	tone := [2]complex128{0.2 * hear[0], 0.2 * hear[1]}
	c.cost = cmplx.Abs(under[0]/tone[0]) + cmplx.Abs(under[1]/tone[1])
	n := c.Seconds * c.RateHz * 0.8
	c.clean = 2.45 * noise * math.Sqrt(2/n) * math.Hypot(1/cmplx.Abs(tone[0]), 1/cmplx.Abs(tone[1]))
	c.traced = !c.single || c.TurnAtS > 0 || c.Before > 0
	return c
}

// humOutcome is how a record is read, by the rule of a whole reading.
type humOutcome struct {
	humCase
	trusted   bool
	off, half float64 // relative
	findings  []finding.Finding
	turn      int
}

func readHum(seed uint64) humOutcome {
	o := humOutcome{humCase: drawHum(seed)}
	sig := Signal{RateHz: o.RateHz, Channels: o.Samples(rand.New(rand.NewPCG(seed, 77)))}
	a, err := Analyze(sig, Config{TonesHz: []float64{o.toneHz}, MainsHz: o.mainsHz})
	if err != nil || len(a.Tones) != 1 {
		return o
	}
	t := &a.Tones[0]
	line := math.Hypot(t.LineU[0]/cmplx.Abs(t.Phasors[0]), t.LineU[1]/cmplx.Abs(t.Phasors[1]))
	o.half = math.Hypot(2.45*math.Hypot(t.ratioU(), line), t.RatioHalf)
	o.off = cmplx.Abs(t.Phasors[1]/t.Phasors[0]/o.ratio - 1)
	o.findings, o.turn = a.Findings, a.Turn
	told := findingOf(a, finding.Interference) != nil
	o.trusted = finding.Worst(a.Findings) != finding.Invalid && !(told && line > t.ratioU() && line > 0.0025)
	return o
}

func hostileHum(t *testing.T, first, n int) {
	type tally struct{ all, trusted, covered, wrong, mild, read, untraced int }
	var by [2]tally // without and with the turn
	for i, o := range eachRecord(n, func(seed uint64) humOutcome { return readHum(uint64(first) + seed) }) {
		b := &by[0]
		if o.TurnAtS > 0 {
			b = &by[1]
		}
		if !o.traced {
			b.untraced++
			continue
		}
		b.all++
		read := o.trusted && o.half <= 3*math.Max(1.25*o.clean, o.cost)
		if o.trusted {
			b.trusted++
			if o.off <= o.half {
				b.covered++
			}
		}
		if o.cost < 0.005 {
			b.mild++
			if read {
				b.read++
			}
		}
		if bad := o.trusted && o.off > 3*o.half; bad || testing.Verbose() && o.cost < 0.005 && !read {
			if bad {
				b.wrong++
			}
			t.Logf("seed %d: off %.2g, half %.2g, clean %.2g, cost %.2g, tone %g, mains %.3f swing %.2g, before %g, turned %v seen %v, single %v, %.1f s: %v", first+i+1, o.off, o.half,
				o.clean, o.cost, o.toneHz, o.Hum.Hz, o.Hum.Swing, o.Before, o.TurnAtS > 0, o.turn > 0, o.single, o.Seconds, o.findings)
		}
	}
	for k, b := range by {
		t.Logf("%s: %d records, %d trusted, of them %d covered and %d beyond 3 half-widths; %d of %d with a cost below 0.5 %% read; %d without a trace left out",
			[]string{"sign kept", "sign turned"}[k], b.all, b.trusted, b.covered, b.wrong, b.read, b.mild, b.untraced)
		if b.read*10 < b.mild*8 {
			t.Error("too few are read")
		}
	}
	if wrong := by[0].wrong + by[1].wrong; wrong > n/300 {
		t.Errorf("%d trusted and wrong, at most %d", wrong, n/300)
	}
}

func TestToneOnDrawnHum(t *testing.T) {
	testkit.NotShort(t)
	hostileHum(t, 0, 10)
}

func TestSoakToneOnDrawnHum(t *testing.T) {
	testkit.NeedSoak(t)
	hostileHum(t, 20000, 300)
}
