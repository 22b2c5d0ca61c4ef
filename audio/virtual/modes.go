package virtual

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// errNetwork says that a jig with its part has no solution.
var errNetwork = errors.New("virtual: the circuit cannot be solved")

// modes is a network as a sum of independent first order parts, one for each
// natural frequency λ (complex ones stand for themselves and their conjugate):
//
//	dx_i/dt = λ_i x_i + Σ_q β_iq in_q,   out_o = Re Σ_i ρ_oi x_i + Σ_q D_oq in_q
//
// The outputs are the probes and then what the ports see.
type modes struct {
	lambda []complex128
	beta   [][]complex128 // [mode][input]
	rho    [][]complex128 // [mode][output]
	direct [][]float64    // [output][input]
}

// Time constants in seconds. Below tooFast a mode follows its input at once. Below
// fast it does so where it seems to grow, which is then rounding of a constant that
// is none: capacitors in a loop, inductors in a row.
const (
	fast    = 1e-13
	tooFast = 1e-18
)

// solve finds the modes about a frequency near those of interest.
//
// With s0 real, M = (G + s0 C)⁻¹ exists for every passive network, also one with
// loops of capacitors or nodes without a way for direct current. In z = Fᵀx, the
// voltages of the capacitors and currents of the inductors,
//
//	x = M B in - (s-s0) M F D z,   (1 + (s-s0) K) z = FᵀM B in,   K = FᵀM F D.
//
// An eigenvalue μ of K gives λ = s0 - 1/μ, and none of them exceeds 1/s0 by much:
// slow modes and fast ones come out of well scaled numbers. D is split evenly
// between both sides of K, which makes it symmetric for circuits of R and C.
func (n *network) solve(s0 float64) (*modes, error) {
	g, f, b, l := n.matrices()
	p, err := n.pencil(g, f, b, l, s0)
	if err != nil {
		return nil, err
	}
	m := &modes{direct: rows(p.lb)}
	if len(n.d) == 0 {
		return m, nil
	}
	if !p.reduce() {
		return m, nil
	}
	if err := m.split(p, s0); err != nil {
		return nil, err
	}
	return m, m.check(s0)
}

// pencil holds the products of solve: K, FᵀM B, LᵀM F D, LᵀM B, scaled.
type pencil struct{ k, fb, lf, lb mat.Dense }

func (n *network) pencil(g, f, b, l *mat.Dense, s0 float64) (*pencil, error) {
	scaled := mat.DenseCopyOf(f)
	sign := mat.DenseCopyOf(f)
	for k, d := range n.d {
		root := math.Sqrt(math.Abs(d))
		for i := range n.size() {
			scaled.Set(i, k, f.At(i, k)*root)
			sign.Set(i, k, math.Copysign(f.At(i, k)*root, d*f.At(i, k)))
		}
	}
	var c, a, mf, mb mat.Dense
	c.Mul(sign, scaled.T())
	a.Scale(s0, &c)
	a.Add(&a, g)
	var lu mat.LU
	lu.Factorize(&a)
	if lu.SolveTo(&mf, false, sign) != nil && !usable(&mf) || lu.SolveTo(&mb, false, b) != nil && !usable(&mb) {
		return nil, fmt.Errorf("%w: its equations contradict each other; are there wires without resistance side by side?", errNetwork)
	}
	p := &pencil{}
	p.k.Mul(scaled.T(), &mf)
	p.fb.Mul(scaled.T(), &mb)
	p.lf.Mul(l.T(), &mf)
	p.lb.Mul(l.T(), &mb)
	return p, nil
}

// negligible is the part of its norm below which a singular value of K is rounding.
const negligible = 1e-13

// reduce leaves out what K does nothing to: charge that goes round a loop of
// capacitors, flux in a row of inductors. Such directions come in numbers, and the
// eigenvectors found among them would be anything. It reports whether something
// is left.
func (p *pencil) reduce() bool {
	var svd mat.SVD
	if !svd.Factorize(&p.k, mat.SVDFull) {
		return true // the eigenvalues will not be found either
	}
	rank, values := 0, svd.Values(nil)
	for rank < len(values) && values[rank] > negligible*values[0] {
		rank++
	}
	if rank == 0 {
		return false
	}
	var v, k, fb, lf mat.Dense
	svd.VTo(&v)
	keep := v.Slice(0, len(values), 0, rank)
	k.Mul(keep.T(), &p.k)
	fb.Mul(keep.T(), &p.fb)
	lf.Mul(&p.lf, keep)
	p.k.Reset()
	p.k.Mul(&k, keep)
	p.fb, p.lf = fb, lf
	return true
}

// usable says whether a solution that came with a warning is one: values of parts
// differ by many orders of magnitude, which is no fault.
func usable(m *mat.Dense) bool {
	if m.IsEmpty() {
		return false
	}
	norm := mat.Norm(m, 1)
	return !math.IsNaN(norm) && !math.IsInf(norm, 0)
}

// split separates the modes.
func (m *modes) split(p *pencil, s0 float64) error {
	var eig mat.Eigen
	if !eig.Factorize(&p.k, mat.EigenRight) {
		return fmt.Errorf("%w: its natural frequencies were not found", errNetwork)
	}
	mu := eig.Values(nil)
	var v mat.CDense
	eig.VectorsTo(&v)
	base, inverse, err := realBase(mu, &v)
	if err != nil {
		return err
	}
	var left, right mat.Dense
	left.Mul(inverse, &p.fb)
	right.Mul(&p.lf, base)
	for i := 0; i < len(mu); i++ {
		pair := imag(mu[i]) != 0
		size := cmplx.Abs(mu[i])
		if size > fast || size > tooFast && real(complex(s0, 0)-1/mu[i]) < 0 {
			m.add(mu[i], pair, i, &left, &right, s0)
		}
		if pair {
			i++ // the conjugate comes next
		}
	}
	return nil
}

// realBase puts eigenvectors into columns, real and imaginary parts of a pair side
// by side, and inverts them.
func realBase(mu []complex128, v *mat.CDense) (base, inverse *mat.Dense, err error) {
	size := len(mu)
	base = mat.NewDense(size, size, nil)
	for k := 0; k < size; k++ {
		for i := range size {
			base.Set(i, k, real(v.At(i, k)))
			if imag(mu[k]) != 0 {
				base.Set(i, k+1, imag(v.At(i, k)))
			}
		}
		if imag(mu[k]) != 0 {
			k++
		}
	}
	inverse = &mat.Dense{}
	if err = inverse.Inverse(base); err != nil && !usable(inverse) {
		return nil, nil, fmt.Errorf("%w: two natural frequencies coincide; change a value a little", errNetwork)
	}
	return base, inverse, nil
}

// add appends the mode of μ at column i of the base. What it adds to an output is
//
//	-a β (s-s0)/(1+(s-s0)μ) = -aβ/μ + (aβ/μ²)/(s-λ).
func (m *modes) add(mu complex128, pair bool, i int, left, right *mat.Dense, s0 float64) {
	_, inputs := left.Dims()
	outputs, _ := right.Dims()
	beta, rho := make([]complex128, inputs), make([]complex128, outputs)
	for q := range beta {
		beta[q] = complex(left.At(i, q), 0)
		if pair { // a pair is twice the real part of one
			beta[q] = complex(left.At(i, q), -left.At(i+1, q))
		}
	}
	for o := range rho {
		a := complex(right.At(o, i), 0)
		if pair {
			a = complex(right.At(o, i), right.At(o, i+1))
		}
		for q := range beta {
			m.direct[o][q] -= real(a * beta[q] / mu)
		}
		rho[o] = a / (mu * mu)
	}
	m.lambda = append(m.lambda, complex(s0, 0)-1/mu)
	m.beta = append(m.beta, beta)
	m.rho = append(m.rho, rho)
}

// check refuses a network that is not stable, as an amplifier can make it. A
// growth so slow that it could be rounding is set to none: charge that cannot flow
// off between capacitors a hundred million times apart comes out so.
func (m *modes) check(s0 float64) error {
	for i, l := range m.lambda {
		if real(l) <= 0 {
			continue
		}
		if real(l) > 1e-6*max(s0, cmplx.Abs(l)) {
			return fmt.Errorf("%w: it is not stable, a disturbance grows e-fold in %.3g s", errNetwork, 1/real(l))
		}
		m.lambda[i] = complex(0, imag(l))
	}
	return nil
}

// rows copies a matrix into slices.
func rows(m mat.Dense) [][]float64 {
	r, _ := m.Dims()
	out := make([][]float64, r)
	for i := range out {
		out[i] = append([]float64(nil), m.RawRowView(i)...)
	}
	return out
}

// response is the ratio of an output to an input at s = jω, as the modes have it.
func (m *modes) response(omega float64, output, input int) complex128 {
	s := complex(0, omega)
	sum := complex(m.direct[output][input], 0)
	for i, l := range m.lambda {
		if imag(l) == 0 {
			sum += m.rho[i][output] * m.beta[i][input] / (s - l)
			continue
		}
		// Half of the mode, and half of its conjugate.
		r := m.rho[i][output] * m.beta[i][input] / 2
		sum += r/(s-l) + cmplx.Conj(r)/(s-cmplx.Conj(l))
	}
	return sum
}
