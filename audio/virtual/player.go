package virtual

import "math"

// playerFrames is the delay of a played and heard signal in frames: half for the
// kernel that plays (an interval begins half-1 samples before the newest, and
// ends one later) and half for the converter that records.
const playerFrames = 2*half - 1

// player takes samples of the drive to frames of what the inputs are given.
type player struct {
	kernel *kernel
	solver solver
	past   []float64 // window-1 samples, and then those of a block
	wait   []frame   // frames that a linear solver is too early
	c      coeffs
}

// newPlayer finds the modes of what was built and starts it at rest.
func newPlayer(b *built, rateHz float64, k *kernel) (*player, error) {
	m, err := b.net.solve(2 * math.Pi * rateHz / 50)
	if err != nil {
		return nil, err
	}
	p := &player{kernel: k, past: make([]float64, window-1)}
	if len(b.elements) > 0 {
		p.solver = newNonlinearSolver(m, b.elements, 1/rateHz)
	} else {
		p.solver = newLinearSolver(m, 1/rateHz)
		p.wait = make([]frame, half)
	}
	return p, nil
}

// process appends a frame to dst for every sample of the drive.
func (p *player) process(dst []frame, drive []float64) ([]frame, error) {
	p.past = append(p.past, drive...)
	first := len(dst)
	dst = append(dst, p.wait...)
	for i := range drive {
		w := (*[window]float64)(p.past[i : i+window])
		p.kernel.interval(&p.c, w)
		y, err := p.solver.step(&p.c, w[half])
		if err != nil {
			return dst[:first], err
		}
		dst = append(dst, y)
	}
	n := len(p.wait)
	copy(p.wait, dst[len(dst)-n:])
	copy(p.past, p.past[len(drive):])
	p.past = p.past[:window-1]
	return dst[:len(dst)-n], nil
}
