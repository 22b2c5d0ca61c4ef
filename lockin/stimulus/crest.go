package stimulus

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// PhaseRule says how the phases of several tones are chosen, which decides how
// high their sum peaks.
type PhaseRule uint8

const (
	// Newman phases are π(k−1)²/N for tone k of N in order of frequency. Source:
	// Newman, as given in Boyd, IEEE Trans. Circuits Syst. 33 (1986) 1018.
	Newman PhaseRule = iota
	// Schroeder phases are −2π Σ_{l<k} (k−l)·p_l, with p_l the share of tone l in
	// the power. Source: Schroeder, IEEE Trans. Inf. Theory 16 (1970) 85.
	Schroeder
	// ZeroPhase leaves all at 0: every tone peaks at once.
	ZeroPhase
	// Searched starts from Newman phases and turns them, for half a second at the
	// most, where the tones have a common period; see searchPhases.
	Searched
)

// Phases returns the phase in radians of each tone, in order of frequency, for
// tones of the given amplitudes.
func (r PhaseRule) Phases(amplitudes []float64) []float64 {
	out := make([]float64, len(amplitudes))
	switch r {
	case Newman, Searched:
		for k := range out {
			out[k] = math.Pi * float64(k) * float64(k) / float64(len(out))
		}
	case Schroeder:
		schroeder(out, amplitudes)
	}
	return out
}

// schroeder accumulates Σ_{l<k} (k−l)·p_l as a sum of running sums.
func schroeder(out, amplitudes []float64) {
	power := 0.0
	for _, a := range amplitudes {
		power += a * a
	}
	sum, share := 0.0, 0.0
	for k, a := range amplitudes {
		sum += share
		out[k] = -2 * math.Pi * math.Mod(sum, 1)
		share += a * a / power
	}
}

// maxCrestGrid bounds the grid on which a waveform's peak is looked for.
const maxCrestGrid = 1 << 22

// PeriodicPeak returns the largest |Σ a_i·cos(2πk_i·t + φ_i)| over continuous
// time t in [0, 1): the peak between samples too, to about 1e-12 of itself.
// cycles are the k_i, at least 1 each. A grid of m points per period of the
// highest tone sees at least cos(π/m) of the peak (Ehlich and Zeller, Math. Z. 86
// (1964) 41), so each local peak of the grid that high is refined by Newton
// steps. Where that grid would exceed four million points the result is the sum
// of the amplitudes, which is never too low. NaN for a cycle below 1, and where the
// lengths differ.
func PeriodicPeak(cycles []int, amplitudes, phasesRad []float64) float64 {
	if len(amplitudes) != len(cycles) || len(phasesRad) != len(cycles) || slices.ContainsFunc(cycles, func(k int) bool { return k < 1 }) {
		return math.NaN()
	}
	highest := 0
	sum := 0.0
	for i, k := range cycles {
		highest = max(highest, k)
		sum += math.Abs(amplitudes[i])
	}
	if highest == 0 || highest > maxCrestGrid/16 {
		return sum
	}
	grid := peakGrid(cycles, amplitudes, phasesRad, highest)
	top := 0.0
	for _, v := range grid {
		top = math.Max(top, math.Abs(v))
	}
	n := len(grid)
	floor := top * math.Cos(math.Pi*float64(highest)/float64(n))
	peak := top
	for i, v := range grid {
		a := math.Abs(v)
		if a < floor || a < math.Abs(grid[(i+n-1)%n]) || a < math.Abs(grid[(i+1)%n]) {
			continue
		}
		peak = math.Max(peak, refinePeak(cycles, amplitudes, phasesRad, float64(i)/float64(n), 1/float64(n)))
	}
	return peak
}

// peakGrid samples the waveform at sixteen points or more per period of the
// highest tone.
func peakGrid(cycles []int, amplitudes, phasesRad []float64, highest int) []float64 {
	n := 64
	for n < 16*highest {
		n *= 2
	}
	coeff := make([]complex128, n/2+1)
	for i, k := range cycles {
		s, c := math.Sincos(phasesRad[i])
		coeff[k] += complex(amplitudes[i]/2, 0) * complex(c, s)
	}
	return fourier.NewFFT(n).Sequence(nil, coeff)
}

// refinePeak climbs from t, at most a grid step away, to the extremum near it.
func refinePeak(cycles []int, amplitudes, phasesRad []float64, t, step float64) float64 {
	best, low, high := 0.0, t-step, t+step
	for range 8 {
		v, slope, bend := waveform(cycles, amplitudes, phasesRad, t)
		best = math.Max(best, math.Abs(v))
		if bend*v >= 0 { // not curved like a peak: nothing to climb
			break
		}
		t = math.Min(math.Max(t-slope/bend, low), high)
	}
	return best
}

// waveform returns the sum of tones and its first two derivatives in t.
func waveform(cycles []int, amplitudes, phasesRad []float64, t float64) (v, slope, bend float64) {
	for i, k := range cycles {
		w := 2 * math.Pi * float64(k)
		s, c := math.Sincos(w*t + phasesRad[i])
		a := amplitudes[i]
		v += a * c
		slope -= a * w * s
		bend -= a * w * w * c
	}
	return v, slope, bend
}

// scale sets phases by the rule and amplitudes so that the waveform just reaches
// the peak asked for. Tones without a common period come as close as you like to
// all peaking at once, so theirs is the sum of the amplitudes.
func (p *Plan) scale() {
	order := make([]int, len(p.Tones))
	for i := range order {
		order[i] = i
	}
	sortBy(order, func(i int) float64 { return p.Tones[i].FreqHz })
	weights, cycles := make([]float64, len(order)), make([]int, len(order))
	sum, power := 0.0, 0.0
	for j, i := range order {
		weights[j] = p.Config.Weights[i]
		sum += weights[j]
		power += weights[j] * weights[j] / 2
		if p.Period != 0 {
			cycles[j] = p.Tones[i].Cycles * (p.Period / p.Tones[i].Period)
		}
	}
	phases := p.Config.Phases.Phases(weights)
	peak := sum
	if p.Period != 0 {
		if p.Config.Phases == Searched {
			phases = searchPhases(cycles, weights, phases)
		}
		peak = PeriodicPeak(cycles, weights, phases)
	}
	for j, i := range order {
		p.Tones[i].Amplitude = p.Config.Peak / peak * weights[j]
		p.Tones[i].PhaseRad = phases[j]
	}
	p.CrestFactor = peak / math.Sqrt(power)
}
