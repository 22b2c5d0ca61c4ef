package virtual

import (
	"math"
	"math/cmplx"
)

// moments returns what a mode λ makes in h seconds of inputs that are Legendre
// polynomials over that time,
//
//	m_j = ∫_0^h e^(λ(h-σ)) P_j(2σ/h-1) dσ,
//
// exactly but for rounding: by quadrature while λh is small, by repeated
// integration by parts, which ends with a polynomial, where it is large.
func moments(lambda complex128, h float64) [basis]complex128 {
	z := lambda * complex(h, 0)
	m := quadrature(z)
	if cmplx.Abs(z) > byParts {
		m = partial(z)
	}
	for j := range m {
		m[j] *= complex(h, 0)
	}
	return m
}

const (
	byParts  = 200 // |λh| beyond which integration by parts loses no digits
	perPanel = 12  // |λh| that 24 Gauss points integrate to 1e-14
)

// quadrature splits the time into panels that the nodes resolve.
func quadrature(z complex128) (m [basis]complex128) {
	if cmplx.Abs(z) > byParts {
		return m
	}
	panels := math.Ceil(cmplx.Abs(z)/perPanel) + 1
	var p [basis]float64
	for k := range int(panels) {
		for q, x := range gaussNodes {
			tau := (float64(k) + (x+1)/2) / panels
			legendre(p[:], 2*tau-1)
			e := cmplx.Exp(z*complex(1-tau, 0)) * complex(gaussWeights[q]/(2*panels), 0)
			for j := range m {
				m[j] += e * complex(p[j], 0)
			}
		}
	}
	return m
}

// partial sums -Σ_k (d_k(1) - e^z d_k(-1)) / z^(k+1), where d_k are derivatives by
// τ: d_k(1) = (j+k)!/(k!(j-k)!) and d_k(-1) = (-1)^(j-k) d_k(1).
func partial(z complex128) (m [basis]complex128) {
	decay := cmplx.Exp(z)
	for j := range m {
		d, power, sign := complex(1, 0), 1/z, complex(1, 0)
		if j%2 == 1 {
			sign = -1
		}
		for k := 0; k <= j; k++ {
			m[j] -= d * (1 - sign*decay) * power
			d *= complex(float64((j+k+1)*(j-k))/float64(k+1), 0)
			power, sign = power/z, -sign
		}
	}
	return m
}
