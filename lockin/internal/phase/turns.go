// Package phase keeps phases as integer fractions of a turn, which do not drift.
package phase

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
)

// Turns is a fraction of a turn in [0, 1): (hi·2⁶⁴ + lo)/2¹²⁸. Whole turns drop
// out of sums and products by overflow, so that a phase reached after any number
// of samples is as good as the first: ω·n in floating point would have drifted
// by 7e-11 rad after ten million samples.
type Turns struct{ hi, lo uint64 }

// TurnsOf returns the phase step freqHz/rateHz of one sample, whole turns
// dropped, exact to 2⁻¹²⁸ turn for the two numbers as they are given. Both must
// be finite and rateHz positive.
func TurnsOf(freqHz, rateHz float64) Turns {
	f := math.Mod(freqHz, rateHz) // exact
	if f == 0 {
		return Turns{}
	}
	a, p := math.Frexp(math.Abs(f))
	b, q := math.Frexp(rateHz)
	num, den, shift := uint64(a*(1<<53)), uint64(b*(1<<53)), q-p
	if num >= den { // |f| < rate, so there is a power of two to give
		den, shift = den<<1, shift-1
	}
	hi, rem := bits.Div64(num, 0, den)
	lo, _ := bits.Div64(rem, 0, den)
	t := Turns{hi, lo}.shiftRight(uint(shift))
	if f < 0 {
		t = t.Neg()
	}
	return t
}

// GridTurns returns k/period of a turn, to 2⁻¹²⁸.
func GridTurns(k, period uint64) Turns {
	hi, rem := bits.Div64(k%period, 0, period)
	lo, _ := bits.Div64(rem, 0, period)
	return Turns{hi, lo}
}

func (t Turns) shiftRight(n uint) Turns {
	if n >= 64 {
		return Turns{0, t.hi >> (n - 64)} // a shift of 64 or more gives zero
	}
	return Turns{t.hi >> n, t.lo>>n | t.hi<<(64-n)}
}

func (t Turns) Neg() Turns {
	lo, borrow := bits.Sub64(0, t.lo, 0)
	hi, _ := bits.Sub64(0, t.hi, borrow)
	return Turns{hi, lo}
}

func (t Turns) Add(u Turns) Turns {
	lo, carry := bits.Add64(t.lo, u.lo, 0)
	hi, _ := bits.Add64(t.hi, u.hi, carry)
	return Turns{hi, lo}
}

// Times returns the phase after n steps.
func (t Turns) Times(n uint64) Turns {
	carry, lo := bits.Mul64(t.lo, n)
	return Turns{t.hi*n + carry, lo}
}

// Of returns t as a float64 in [−½, ½), good to its last digits however small.
func (t Turns) Of() float64 {
	sign := 1.0
	if t.hi>>63 == 1 {
		t, sign = t.Neg(), -1
	}
	return sign * (float64(t.hi)*0x1p-64 + float64(t.lo)*0x1p-128)
}

// Sincos returns sine and cosine of the phase, each within about 1e-16. The
// nearest quarter turn is taken off in integers, so quarters are exact.
func (t Turns) Sincos() (sin, cos float64) {
	quarter := (t.hi + 1<<61) >> 62
	rest := float64(int64(t.hi-quarter<<62)) * (2 * math.Pi * 0x1p-64)
	s, c := math.Sincos(rest)
	switch quarter & 3 {
	case 1:
		return c, -s
	case 2:
		return -s, -c
	case 3:
		return -c, s
	}
	return s, c
}

// Phasor returns exp(+j2πt).
func (t Turns) Phasor() complex128 {
	s, c := t.Sincos()
	return complex(c, s)
}

// FillPhasors sets dst[i] = exp(+j2π(start + i·step)) within 3e-16, with two
// sines per sixteen entries: one coarse and one fine table are multiplied.
func FillPhasors(dst []complex128, start, step Turns) {
	const fine = 16
	var table [fine]complex128
	for i := range table {
		table[i] = step.Times(uint64(i)).Phasor()
	}
	coarse := step.Times(fine)
	for len(dst) > 0 {
		base := start.Phasor()
		n := min(fine, len(dst))
		for i := range dst[:n] {
			dst[i] = base * table[i]
		}
		dst, start = dst[n:], start.Add(coarse)
	}
}

// MaxGridPeriod is the longest period, in samples, that Grid looks for: longer
// ones leave the second-level cache and fold no faster than the rotating fold.
const MaxGridPeriod = 1 << 18

// Grid finds the grid a frequency lies on: freqHz = k·rateHz/period in lowest
// terms, with period at most 262144 samples. A frequency within 2 ulp of a grid
// frequency is taken to be meant exactly there, as a float64 cannot say it
// better; a frequency off every grid comes that close with a chance below 1e-5.
// ok is false for a frequency off every grid, negative, or not finite.
func Grid(freqHz, rateHz float64) (k, period int, ok bool) {
	ratio := freqHz / rateHz
	if !(ratio >= 0) || ratio > MaxGridPeriod || !(rateHz > 0) || math.IsInf(rateHz, 0) {
		return 0, 0, false
	}
	tol := 2 * (math.Nextafter(ratio, math.Inf(1)) - ratio)
	// Convergents p/q of the continued fraction are the best approximations.
	p0, q0, p1, q1 := 0.0, 1.0, 1.0, 0.0
	for x := ratio; ; {
		whole := math.Floor(x)
		p0, q0, p1, q1 = p1, q1, whole*p1+p0, whole*q1+q0
		if q1 > MaxGridPeriod {
			return 0, 0, false
		}
		if math.Abs(p1/q1-ratio) <= tol {
			return int(p1), int(q1), true
		}
		x = 1 / (x - whole)
	}
}

// StepOf returns the phase step of one sample: exact on the grid a frequency is
// meant to lie on, else that of the number given.
func StepOf(freqHz, rateHz float64) Turns {
	if k, period, ok := Grid(freqHz, rateHz); ok {
		return GridTurns(uint64(k), uint64(period))
	}
	return TurnsOf(freqHz, rateHz)
}

// ErrFrequency is wrapped by errors about frequencies and rates that cannot be used.
var ErrFrequency = errors.New("lockin: unusable frequency")

func CheckFrequencies(freqsHz []float64, rateHz float64) error {
	if !(rateHz > 0) || math.IsInf(rateHz, 0) {
		return fmt.Errorf("%w: rate %g Hz", ErrFrequency, rateHz)
	}
	for i, f := range freqsHz {
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return fmt.Errorf("%w: tone %d is %g Hz", ErrFrequency, i+1, f)
		}
	}
	return nil
}

// Near returns a correction of t turns to 1e-19 of a turn; nothing where t is not finite.
func Near(t float64) Turns {
	if !(t >= -0.5 && t < 0.5) {
		if math.IsNaN(t) || math.IsInf(t, 0) {
			return Turns{}
		}
		t -= math.Floor(t + 0.5)
	}
	return Turns{uint64(int64(t*0x1p63)) << 1, 0}
}
