package circuit

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Mu0 is the magnetic constant in H/m, CODATA 2022.
const Mu0 = 1.25663706127e-6

// CoilInductance returns the inductance in henry of a single-layer coil in air, as of a
// current sheet:
//
//	L = µ0 N² π (d/2)² K / l
//
// with d the diameter to the middle of the wire, l the length of the winding, both in
// metres, and K of Nagaoka. A real coil of close turns is within about 2 %. NaN unless
// all are above zero.
//
// Reference: Nagaoka, J. Coll. Sci. Tokyo 27, art. 6 (1909).
func CoilInductance(turns, diameterM, lengthM float64) float64 {
	if !(turns > 0 && diameterM > 0 && lengthM > 0) {
		return math.NaN()
	}
	return Mu0 * turns * turns * math.Pi * diameterM * diameterM / 4 * Nagaoka(diameterM/lengthM) / lengthM
}

// Nagaoka returns the factor by which a coil of finite length, its diameter over its
// length given, has less inductance than a part of a long one of the same length:
//
//	K = 4/(3πk') ((k'²/k²)(K(k) − E(k)) + E(k) − k),  k² = x²/(1 + x²), k' = √(1 − k²)
//
// 1 for x = 0, NaN below. Below x = 0.02 the first terms of its series are used, since
// the formula cancels there; the next is below 1e-12, and so is what cancels above.
func Nagaoka(diameterOverLength float64) float64 {
	x := diameterOverLength
	if !(x >= 0) {
		return math.NaN()
	}
	if x < 0.02 {
		return 1 - 4*x/(3*math.Pi) + x*x/8 - x*x*x*x/64
	}
	k2 := x * x / (1 + x*x)
	rest := 1 / (1 + x*x)
	k, e := mathext.CompleteK(k2), mathext.CompleteE(k2)
	return 4 / (3 * math.Pi * math.Sqrt(rest)) * (rest/k2*(k-e) + e - math.Sqrt(k2))
}

// SkinCornerHz returns the corner frequency of element S for a round wire: the skin
// depth is its radius there.
//
//	fc = ρ/(π µ0 a²)
//
// Radius in metres, resistivity in ohm metres (copper: 17.241e-9 at 20 °C).
func SkinCornerHz(radiusM, resistivity float64) float64 {
	return resistivity / (math.Pi * Mu0 * radiusM * radiusM)
}

// Coupled are two coils that share flux.
type Coupled struct{ L1, L2, M float64 } // henry

// CoupledFrom returns two coils from the inductance of both in series, the same way
// round and with one turned: M = (L_aiding − L_opposing)/4.
func CoupledFrom(l1, l2, aiding, opposing float64) Coupled {
	return Coupled{l1, l2, (aiding - opposing) / 4}
}

// Aiding and Opposing return the inductance of both in series, in henry.
func (c Coupled) Aiding() float64   { return c.L1 + c.L2 + 2*c.M }
func (c Coupled) Opposing() float64 { return c.L1 + c.L2 - 2*c.M }

// K returns the coupling M/√(L1 L2).
func (c Coupled) K() float64 { return c.M / math.Sqrt(c.L1*c.L2) }

// Shorted returns the inductance of the first with the second shorted, L1 (1 − k²).
func (c Coupled) Shorted() float64 { return c.L1 - c.M*c.M/c.L2 }

// TurnsRatio returns √(L1/L2), that of the turns where both share all flux.
func (c Coupled) TurnsRatio() float64 { return math.Sqrt(c.L1 / c.L2) }
