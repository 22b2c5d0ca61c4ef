package virtual

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// acOf solves (G + jωC) x = b of a network for the two outputs: the steady state
// by the equations themselves, without modes and without time.
func acOf(t fataler, n *network, omega float64) [2]complex128 {
	t.Helper()
	g, f, b, l := n.matrices()
	size := n.size()
	c, fd := mat.NewDense(size, size, nil), mat.DenseCopyOf(f)
	for k, d := range n.d {
		for i := range size {
			fd.Set(i, k, d*f.At(i, k))
		}
	}
	c.Mul(fd, f.T())
	a, rhs := mat.NewDense(2*size, 2*size, nil), mat.NewVecDense(2*size, nil)
	for i := range size {
		rhs.SetVec(i, b.At(i, 0))
		for j := range size {
			a.Set(i, j, g.At(i, j))
			a.Set(size+i, size+j, g.At(i, j))
			a.Set(i, size+j, -omega*c.At(i, j))
			a.Set(size+i, j, omega*c.At(i, j))
		}
	}
	var x mat.VecDense
	if err := x.SolveVec(a, rhs); err != nil && x.IsEmpty() {
		t.Fatal(err)
	}
	var out [2]complex128
	for o := range out {
		for i := range size {
			out[o] += complex(l.At(i, o)*x.AtVec(i), l.At(i, o)*x.AtVec(size+i))
		}
	}
	return out
}

// fataler is a test, of the library's or of a generator's kind.
type fataler interface {
	Helper()
	Fatal(args ...any)
}

// part is a linear part of the given circuit.
func part(text string) *Part { return &Part{Name: "part", Circuit: text} }

// full returns a jig with its defaults filled in.
func full(t testing.TB, j Jig) Jig {
	t.Helper()
	j, err := j.withDefaults()
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// playTone plays a tone for so many frames and returns the complex amplitudes of
// both outputs over the last n, with respect to the drive as it is heard.
func playTone(t testing.TB, p *player, rateHz, freqHz float64, frames, n int, peak float64) [2]complex128 {
	t.Helper()
	drive := make([]float64, frames)
	for i := range drive {
		drive[i] = peak * math.Cos(2*math.Pi*freqHz/rateHz*float64(i))
	}
	// A slow beginning leaves little of what has to die away.
	fade := frames / 4
	for i := range fade {
		drive[i] *= 0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(fade))
	}
	out, err := p.process(nil, drive)
	if err != nil {
		t.Fatal(err)
	}
	var amplitude [2]complex128
	for ch := range amplitude {
		y := make([]float64, n)
		for i := range y {
			y[i] = out[frames-n+i][ch]
		}
		amplitude[ch] = phasor(y, 2*math.Pi*freqHz/rateHz, float64(frames-n-playerFrames))
	}
	return amplitude
}

// phasor fits a cos(ωi) + b sin(ωi) + c + d i to y and returns a - jb, for an i
// that counts from first. The squares are weighted by a window that keeps
// harmonics out, cos⁴ of the place from -π/2 to π/2.
func phasor(y []float64, omega, first float64) complex128 {
	a, rhs := mat.NewDense(len(y), 4, nil), mat.NewVecDense(len(y), nil)
	for i, v := range y {
		sin, cos := math.Sincos(omega * (first + float64(i)))
		place := (float64(i)+0.5)/float64(len(y)) - 0.5
		w := math.Pow(math.Cos(math.Pi*place), 2)
		a.SetRow(i, []float64{w * cos, w * sin, w, w * place})
		rhs.SetVec(i, w*v)
	}
	var x mat.VecDense
	if err := x.SolveVec(a, rhs); err != nil {
		return cmplx.NaN()
	}
	return complex(x.AtVec(0), -x.AtVec(1))
}
