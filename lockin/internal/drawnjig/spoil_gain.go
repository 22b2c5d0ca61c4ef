package drawnjig

import (
	"math"
	"math/rand/v2"
)

// Gain multiplies an input with what f says, t in seconds from the first frame.
func Gain(f func(ch int, t float64) float64) Spoil {
	return func(x [][]float64, rateHz float64, _ *rand.Rand) [][]float64 {
		for c, ch := range x {
			for i := range ch {
				ch[i] *= f(c, float64(i)/rateHz)
			}
		}
		return x
	}
}

// Movements are the ways in which DrawGain moves one input against the other.
var Movements = []string{"ramp", "step", "decay", "wobble", "walk"}

// DrawGain draws a movement of input 2 against input 1, of the given size, within a
// record of so many seconds. The second result is the mean relative deviation of the
// gain over the record from its gain at rest, which is 1.
func DrawGain(rng *rand.Rand, kind string, size, seconds float64) Spoil {
	moved := rng.IntN(2)
	sign := float64(1 - 2*rng.IntN(2))
	at, rate := rng.Float64(), math.Pow(10, 2*rng.Float64()-0.3) // part of the record; Hz
	tau := seconds * math.Pow(10, -1.3*rng.Float64())
	phase := 2 * math.Pi * rng.Float64()
	walk := drawWalk(rng, 4000)
	return Gain(func(ch int, t float64) float64 {
		if ch != moved {
			return 1
		}
		u := t / seconds
		switch kind {
		case "ramp":
			return 1 + sign*size*(u-0.5)
		case "step":
			if u < 0.25+0.65*at { // after the tone has come up: a step before leaves no trace
				return 1
			}
			return 1 + sign*size
		case "decay":
			return 1 + sign*size*math.Exp(-t/tau)
		case "wobble":
			return 1 + size*math.Sin(2*math.Pi*rate*t+phase)
		}
		return 1 + size*walk[min(len(walk)-1, int(u*float64(len(walk))))]
	})
}

// drawWalk is a random walk that ends about one away from where it began.
func drawWalk(rng *rand.Rand, n int) []float64 {
	out := make([]float64, n)
	v := 0.0
	for i := range out {
		v += rng.NormFloat64() / math.Sqrt(float64(n))
		out[i] = v
	}
	return out
}

// GainControl is the automatic gain of an input or of a sound system: an envelope
// follower, and a gain that brings the level nearer to a target.
type GainControl struct {
	Target          float64 // peak that is aimed at
	AttackS, DecayS float64 // of the follower where the level rises, and where it falls
	Strength        float64 // 1 brings any level to the target, 0 does nothing
	MostDB          float64 // the gain stays within this, both ways
	Linked          bool    // both inputs at one gain, by the stronger
	Zeros           bool    // what is 50 dB below the target becomes zeros, as noise gates do
}

// Spoil returns it as a change of samples.
func (g GainControl) Spoil() Spoil {
	return func(x [][]float64, rateHz float64, _ *rand.Rand) [][]float64 {
		rise, fall := 1-math.Exp(-1/(g.AttackS*rateHz)), 1-math.Exp(-1/(g.DecayS*rateHz))
		most := math.Pow(10, g.MostDB/20)
		level := [2]float64{g.Target / 100, g.Target / 100}
		gate := [2]float64{}
		for i := range x[0] {
			now := [2]float64{math.Abs(x[0][i]), math.Abs(x[1][i])}
			if g.Linked {
				now[0] = math.Max(now[0], now[1])
				now[1] = now[0]
			}
			for ch := range x {
				if now[ch] > level[ch] {
					level[ch] += rise * (now[ch] - level[ch])
				} else {
					level[ch] += fall * (now[ch] - level[ch])
				}
				gain := math.Pow(g.Target/math.Max(level[ch], 1e-9), g.Strength)
				x[ch][i] *= math.Max(1/most, math.Min(most, gain))
				gate[ch] += (now[ch] - gate[ch]) * 1e-2
				if g.Zeros && gate[ch] < g.Target/300 {
					x[ch][i] = 0
				}
			}
		}
		return x
	}
}

// DrawGainControl draws one, of times as such things have: attack of 3 to 100 ms,
// decay of 0.1 to 10 s.
func DrawGainControl(rng *rand.Rand) GainControl {
	within := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, rng.Float64()) }
	return GainControl{Target: within(0.1, 0.8), AttackS: within(3e-3, 0.1), DecayS: within(0.1, 10),
		Strength: 0.3 + 0.7*rng.Float64(), MostDB: 3 + 27*rng.Float64(), Zeros: rng.IntN(3) == 0}
}
