package drawnjig

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// Round rounds to an integer of so many bits, and stops at full scale. With dither,
// triangular noise of two steps is added first.
func Round(bits int, dither bool) Spoil {
	full := math.Ldexp(1, bits-1)
	return func(x [][]float64, _ float64, rng *rand.Rand) [][]float64 {
		for _, ch := range x {
			for i, v := range ch {
				v *= full
				if dither {
					v += rng.Float64() - rng.Float64()
				}
				ch[i] = math.Max(-full, math.Min(full-1, math.Round(v))) / full
			}
		}
		return x
	}
}

// Clip stops an input at a level; 0 leaves it alone.
func Clip(level [2]float64) Spoil {
	return func(x [][]float64, _ float64, _ *rand.Rand) [][]float64 {
		for c, ch := range x {
			for i, v := range ch {
				if level[c] > 0 {
					ch[i] = math.Max(-level[c], math.Min(level[c], v))
				}
			}
		}
		return x
	}
}

// Lose takes n frames out at a time.
func Lose(atS float64, n int) Spoil {
	return func(x [][]float64, rateHz float64, _ *rand.Rand) [][]float64 {
		at := int(atS * rateHz)
		for c, ch := range x {
			x[c] = append(append([]float64(nil), ch[:at]...), ch[at+n:]...)
		}
		return x
	}
}

// Repeat plays n frames twice.
func Repeat(atS float64, n int) Spoil {
	return func(x [][]float64, rateHz float64, _ *rand.Rand) [][]float64 {
		at := int(atS * rateHz)
		for c, ch := range x {
			x[c] = append(append([]float64(nil), ch[:at]...), ch[at-n:]...)
		}
		return x
	}
}

// Zero puts zeros in the place of n frames.
func Zero(atS float64, n int) Spoil {
	return func(x [][]float64, rateHz float64, _ *rand.Rand) [][]float64 {
		at := int(atS * rateHz)
		for _, ch := range x {
			clear(ch[at : at+n])
		}
		return x
	}
}

// Mix lets each input hear a share of the other.
func Mix(share float64) Spoil {
	return func(x [][]float64, _ float64, _ *rand.Rand) [][]float64 {
		for i, a := range x[0] {
			b := x[1][i]
			x[0][i], x[1][i] = a+share*(b-a), b+share*(a-b)
		}
		return x
	}
}

// Mains adds hum with a phase of its own in each recording, as inputs pick it up.
func Mains(h Hum) Spoil {
	return func(x [][]float64, rateHz float64, rng *rand.Rand) [][]float64 {
		begin := 100 * rng.Float64()
		lines := h
		lines.Lines = nil
		for _, l := range h.Lines {
			turn := cmplx.Rect(1, 2*math.Pi*float64(l.Order)*begin)
			lines.Lines = append(lines.Lines, HumLine{Order: l.Order, Amplitude: [2]complex128{l.Amplitude[0] * turn, l.Amplitude[1] * turn}})
		}
		lines.add(x, rateHz)
		return x
	}
}

// Begin leaves out what was recorded before, in seconds.
func Begin(atS float64) Spoil {
	return func(x [][]float64, rateHz float64, _ *rand.Rand) [][]float64 {
		for c, ch := range x {
			x[c] = ch[int(atS*rateHz):]
		}
		return x
	}
}
