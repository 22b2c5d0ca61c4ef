package circuit

import (
	"errors"
	"fmt"
	"math"
)

// Problem is a nonlinear least-squares problem: the x that makes the sum of the
// squares of the residuals least.
type Problem struct {
	// Residuals writes r(x) into dst, which has Count elements.
	Residuals func(dst, x []float64)
	// Jacobian writes dr_i/dx_k into dst[i*len(x)+k]. Nil: central differences.
	Jacobian func(dst, x []float64)
	Count    int       // of residuals
	Start    []float64 // where to begin
	// Low and High bound x; nil or an infinity is no bound.
	Low, High []float64

	// Steps is the most steps taken; 0 means 2000.
	Steps int
	// Tolerance is the step, relative to x, at which the search ends; 0 means 1e-11.
	// It also ends where a step cannot lower the sum by this part, squared.
	Tolerance float64

	damping float64 // λ of the first step; 0 means 1, for starts that may be far off
}

// Solution is where the search ended.
type Solution struct {
	X         []float64
	Residuals []float64
	Jacobian  []float64 // at X, row by row: Count × len(X)
	Sum       float64   // of squares
	Steps     int
	Converged bool // false: the steps ran out
}

// Errors of Solve.
var (
	ErrProblem  = errors.New("circuit: the problem cannot be solved as it stands")
	ErrNoNumber = errors.New("circuit: the residuals are not numbers at the starting values; start elsewhere")
)

// Solve minimises the sum of squares from where the problem starts, by the
// Levenberg–Marquardt method: steps δ that minimise |r + Jδ|² + λ|Dδ|², with D the
// column norms of J, which fade slowly, and a second-order correction of each step. The step is found by orthogonal reduction, so
// that the condition of J is not squared. A variable at a bound that it wants to
// cross stays there for the step.
//
// Special cases: a step onto values that are no numbers is refused and shortened.
// The result is a local minimum; a function with several of them needs several
// starts.
//
// References: Moré, 1978. The rule for λ is that of Nielsen, 1999, the correction
// that of Transtrum and Sethna, 2012 (both from memory).
func Solve(p Problem) (*Solution, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	s := newSearch(p)
	if !s.begin() {
		return nil, ErrNoNumber
	}
	for s.at.Steps < s.p.Steps && !s.at.Converged {
		s.step()
	}
	if s.at.Converged && s.p.Tolerance <= fine {
		s.polish()
	}
	return &s.at, nil
}

// fine is the tolerance from which on the last digits are worth their steps.
const fine = 1e-8

// mostResiduals keeps a slip from taking the machine: slopes of 1 GB.
const mostResiduals = 1 << 27

func (p *Problem) check() error {
	n := len(p.Start)
	switch {
	case n == 0 || p.Residuals == nil:
		return fmt.Errorf("%w: it has no unknowns or no residuals", ErrProblem)
	case p.Count < n:
		return fmt.Errorf("%w: %d residuals do not determine %d unknowns", ErrProblem, p.Count, n)
	case p.Count > mostResiduals/n:
		return fmt.Errorf("%w: %d residuals of %d unknowns are more than the %d slopes that are kept", ErrProblem, p.Count, n, mostResiduals)
	case p.Low != nil && len(p.Low) != n, p.High != nil && len(p.High) != n:
		return fmt.Errorf("%w: there must be a bound for each of %d unknowns, or none", ErrProblem, n)
	}
	for k := range p.Low {
		if p.High != nil && !(p.Low[k] <= p.High[k]) {
			return fmt.Errorf("%w: unknown %d has a low bound %g above its high bound %g", ErrProblem, k+1, p.Low[k], p.High[k])
		}
	}
	return nil
}

// search is the state of one run.
type search struct {
	p        Problem
	at       Solution
	lambda   float64
	growth   float64 // of lambda after the next failure
	scale    []float64
	free     []int // the variables that may move
	work     reducer
	gradient []float64
	delta    []float64
	bend     []float64 // second order of the step
	trial    []float64
	trialR   []float64
}

func newSearch(p Problem) *search {
	n := len(p.Start)
	if p.Steps == 0 {
		p.Steps = 2000
	}
	if p.Tolerance == 0 {
		p.Tolerance = 1e-11
	}
	if p.damping == 0 {
		p.damping = 1
	}
	if p.Jacobian == nil {
		p.Jacobian = differences(p.Residuals, p.Count, n)
	}
	s := &search{p: p, lambda: p.damping, growth: 2}
	s.at = Solution{X: append([]float64(nil), p.Start...), Residuals: make([]float64, p.Count), Jacobian: make([]float64, p.Count*n)}
	for _, v := range []*[]float64{&s.scale, &s.gradient, &s.delta, &s.bend, &s.trial} {
		*v = make([]float64, n)
	}
	s.trialR = make([]float64, p.Count)
	return s
}

func (s *search) begin() bool {
	s.clip(s.at.X)
	s.p.Residuals(s.at.Residuals, s.at.X)
	s.at.Sum = sumSquares(s.at.Residuals)
	if !isFinite(s.at.Sum) {
		return false
	}
	s.linearise()
	return true
}

func (s *search) clip(x []float64) {
	for k := range x {
		if s.p.Low != nil && x[k] < s.p.Low[k] {
			x[k] = s.p.Low[k]
		}
		if s.p.High != nil && x[k] > s.p.High[k] {
			x[k] = s.p.High[k]
		}
	}
}

// memory is how much of its size a scale keeps from step to step. With all of it, a
// valley that bends away from a steep start is never left; with none, a variable on
// which nothing depends for a moment runs away.
const memory = 0.7

// linearise finds the Jacobian, the gradient and the scale at the present place.
func (s *search) linearise() {
	n := len(s.at.X)
	s.p.Jacobian(s.at.Jacobian, s.at.X)
	clear(s.gradient)
	for i, r := range s.at.Residuals {
		for k, j := range s.at.Jacobian[i*n : (i+1)*n] {
			if !isFinite(j) {
				s.at.Jacobian[i*n+k], j = 0, 0 // decides nothing here
			}
			s.gradient[k] += j * r
		}
	}
	for k := range n {
		var norm float64
		for i := k; i < len(s.at.Jacobian); i += n {
			norm += s.at.Jacobian[i] * s.at.Jacobian[i]
		}
		s.scale[k] = max(memory*s.scale[k], math.Sqrt(norm))
	}
	s.release()
}

// slope is the length of the gradient in the scale of the search, where variables
// may move.
func (s *search) slope() float64 {
	var sum float64
	for _, k := range s.free {
		sum = math.Hypot(sum, s.gradient[k]/s.scale[k])
	}
	return sum
}

// polish takes up to three undamped steps that flatten the gradient: near the
// minimum the sum of squares itself is rounded to half the digits that x has.
func (s *search) polish() {
	const rounding = 1e-12 // of the sum, which may rise by as much
	for range 3 {
		before, slope, scale := s.at, s.slope(), append([]float64(nil), s.scale...)
		before.X = append([]float64(nil), s.at.X...)
		before.Residuals = append([]float64(nil), s.at.Residuals...)
		s.lambda = 0
		if len(s.free) == 0 {
			return
		}
		s.propose()
		for k := range s.trial {
			s.trial[k] = s.at.X[k] + s.delta[k]
		}
		s.clip(s.trial)
		s.p.Residuals(s.trialR, s.trial)
		sum := sumSquares(s.trialR)
		if !(sum <= s.at.Sum*(1+rounding)) {
			return
		}
		s.accept(sum)
		if !(s.slope() < slope/2) {
			copy(s.scale, scale)
			copy(s.trial, before.X)
			copy(s.trialR, before.Residuals)
			s.accept(before.Sum)
			return
		}
	}
}

// accept moves to the trial.
func (s *search) accept(sum float64) {
	s.at.Sum = sum
	copy(s.at.X, s.trial)
	copy(s.at.Residuals, s.trialR)
	s.linearise()
}

// release lists the variables that may move: not those at a bound that a downhill
// step would cross, nor those on which nothing depends.
func (s *search) release() {
	s.free = s.free[:0]
	for k, x := range s.at.X {
		low := s.p.Low != nil && x <= s.p.Low[k] && s.gradient[k] > 0
		high := s.p.High != nil && x >= s.p.High[k] && s.gradient[k] < 0
		if !low && !high && s.scale[k] > 0 && isFinite(s.scale[k]) {
			s.free = append(s.free, k)
		}
	}
}

// step tries one step, takes it if it leads down, and sets λ by how well the
// linear model foretold the change.
func (s *search) step() {
	s.at.Steps++
	if len(s.free) == 0 {
		s.at.Converged = true
		return
	}
	foretold, bend := s.propose()
	s.p.Residuals(s.trialR, s.trial)
	sum := sumSquares(s.trialR)
	if bend > mostBend {
		sum = math.NaN() // the path turns within the step: not to be trusted
	}
	small := s.small()
	if !(sum < s.at.Sum) {
		s.lambda, s.growth = s.lambda*s.growth, s.growth*2
		s.at.Converged = small || foretold <= s.p.Tolerance*s.p.Tolerance*s.at.Sum || s.lambda > 1e30
		return
	}
	gain := (s.at.Sum - sum) / foretold
	s.at.Converged = small || s.at.Sum-sum <= s.p.Tolerance*s.p.Tolerance*s.at.Sum || sum == 0
	if isFinite(gain) {
		s.lambda *= max(1.0/5, min(2, 1-math.Pow(2*gain-1, 3)))
	}
	s.lambda, s.growth = max(s.lambda, 1e-20), 2
	s.accept(sum)
}

// mostBend is how long the correction for curvature may be, as a part of the step.
const mostBend = 0.75

// propose sets the trial, and returns the sum of squares that it should save and how
// much its path bends.
func (s *search) propose() (saved, bend float64) {
	s.work.solve(s)
	s.spread(s.delta, s.work.x)
	bend = s.accelerate()
	for k := range s.trial {
		s.trial[k] = s.at.X[k] + s.delta[k]
	}
	s.clip(s.trial)
	saved = s.foretold()
	for k := range s.trial {
		s.trial[k] = s.at.X[k] + s.delta[k] + s.bend[k]/2
	}
	s.clip(s.trial)
	return saved, bend
}

// foretold is what the linear model saves on the way to the trial.
func (s *search) foretold() float64 {
	n, sum := len(s.delta), 0.0
	for i, r := range s.at.Residuals {
		for k, j := range s.at.Jacobian[i*n : (i+1)*n] {
			r += j * (s.trial[k] - s.at.X[k])
		}
		sum += r * r
	}
	return max(s.at.Sum-sum, 0)
}

// spread writes what belongs to the free variables into dst, and 0 for the others.
func (s *search) spread(dst, free []float64) {
	clear(dst)
	for i, k := range s.free {
		dst[k] = free[i]
	}
}

// small says whether the step no longer matters.
func (s *search) small() bool {
	for k := range s.trial {
		size := max(math.Abs(s.at.X[k]), math.Abs(s.trial[k]))
		if math.Abs(s.trial[k]-s.at.X[k]) > s.p.Tolerance*size {
			return false
		}
	}
	return true
}

func sumSquares(r []float64) float64 {
	var sum float64
	for _, x := range r {
		sum += x * x
	}
	return sum
}

func isFinite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
