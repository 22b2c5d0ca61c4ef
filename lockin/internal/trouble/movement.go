package trouble

import (
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/lockin/internal/num"
)

// Movement is how far the ratio of two channels, and their levels, move over a stretch.
type Movement struct {
	// T compares the scatter of eight parts of the stretch with that of blocks near
	// each other: about 1 where nothing moves. Trend says that the trend test found
	// what T did not.
	T     float64
	Trend bool
	// Distance is how far the ratio of the weaker to the stronger channel strays from
	// the one fitted, and Ratio the size of that.
	Distance, Ratio float64
	// LevelRange is by how much the level of each channel varies, relative; 0 for a weak one.
	LevelRange [2]float64
	// Onset is how far the ratio differs, relative, while the tone comes up; looked at
	// only where levels move.
	Onset     float64
	OnsetSeen bool
}

const (
	movementLimit = 3.5  // of T: noise of any colour reaches 3.0 in one record of 6000
	movementFloor = 1e-4 // of the ratio: less is not told, though it enters u
	movementSmall = 0.1  // a ratio below this counts as this for the floor
	movementWeak  = 0.03 // of the stronger channel: the level of a weaker one says nothing
	movementParts = 8
	blockStands   = 5     // standard deviations of an axis from which a single block counts
	rangeAllows   = 4.5   // and that a range is allowed for noise, on either side
	rangeTold     = 0.003 // levels of clean records vary by 7e-5 at the most
	onsetTrusted  = 0.03  // a ratio that differs by more while the tone comes up is not bounded by what it does later
)

// FindMovement follows the ratio of two channels over a whole stretch. residual holds
// what the fit leaves of them, and fitted the amplitudes of the tone in them, with the
// phase of the middle of the stretch; skip says which frames [from, end) are void.
//
// With blocks of 20 ms under a Hann window that overlap by half, s² the variance of one
// axis of their ratio, from blocks two apart, and m blocks in each of eight parts,
//
//	T = Σ|mean of a part − mean|² / (14·s²/m·(1 + (m−1)/(3m)))
//
// which has 14 degrees of freedom (Re and Im of seven); neighbours are correlated by 1/6.
func FindMovement(residual [][]float64, fitted []complex128, rateHz, freqHz float64, skip func(from, end int) bool) (m Movement, ok bool) {
	if len(residual) != 2 || len(fitted) != 2 {
		return m, false
	}
	n, length := len(residual[0]), trackLength(rateHz, freqHz, 0)
	strong := stronger(fitted)
	var z [2][]complex128
	for ch, x := range residual {
		t := followTone(x, freqHz/rateHz, 0, n, length)
		t.add(fitted[ch] * cmplx.Conj(turnHalf(freqHz/rateHz, n-1)))
		z[ch] = t.z
	}
	var ratio []complex128
	var levels [2][]float64
	for k := range z[0] {
		a := z[strong][k]
		if skip(k*length/2, k*length/2+length) || cmplx.Abs(a) < cmplx.Abs(fitted[strong])/4 {
			continue
		}
		ratio = append(ratio, z[1-strong][k]/a)
		for ch := range levels {
			levels[ch] = append(levels[ch], math.Log(math.Max(cmplx.Abs(z[ch][k]), 1e-300)))
		}
	}
	if len(ratio) < 2*movementParts || fitted[1-strong] == 0 {
		return m, false
	}
	v := fitted[1-strong] / fitted[strong]
	m.Ratio = cmplx.Abs(v)
	m.judge(ratio, v)
	for ch, l := range levels {
		if cmplx.Abs(fitted[ch]) >= movementWeak*cmplx.Abs(fitted[strong]) {
			m.LevelRange[ch] = rangeBeyondNoise(l)
		}
	}
	return m, true
}

// judge forms the statistic and the distance from the ratio fitted.
func (m *Movement) judge(ratio []complex128, fitted complex128) {
	var steps []float64
	for k := 2; k < len(ratio); k++ {
		steps = append(steps, num.SqAbs(ratio[k]-ratio[k-2]))
	}
	s2 := lowMean(steps, exponentialLow) / 4
	each := len(ratio) / movementParts
	parts := make([]complex128, movementParts)
	mean := complex(0, 0)
	for j := range parts {
		from := j * len(ratio) / movementParts
		for _, r := range ratio[from : from+each] {
			parts[j] += r / complex(float64(each), 0)
		}
		mean += parts[j] / movementParts
	}
	between := 0.0
	for _, p := range parts {
		between += num.SqAbs(p - mean)
		m.Distance = math.Max(m.Distance, cmplx.Abs(p-fitted))
	}
	b := float64(each)
	m.T = between / (2*(movementParts-1)*s2/b*(1+(b-1)/(3*b)) + 1e-28*(1+num.SqAbs(fitted)))
	for _, r := range ratio {
		if d := cmplx.Abs(r - fitted); d > blockStands*math.Sqrt(s2) {
			m.Distance = math.Max(m.Distance, d)
		}
	}
	m.Distance = math.Max(m.Distance, cmplx.Abs(beyond(parts)-fitted))
}

// An approach that shrinks by less than this from third to third is a line, which has no
// end; and no more than so many of its steps are looked ahead.
const straight, farthestAhead = 0.95, 4

// beyond is where the parts are heading: thirds of an exponential approach differ by a
// constant factor, and so give its end (Aitken's Δ²).
func beyond(parts []complex128) complex128 {
	n := len(parts)
	third := func(from, end int) (sum complex128) {
		for _, p := range parts[from:end] {
			sum += p / complex(float64(end-from), 0)
		}
		return sum
	}
	a, b, c := third(0, n/3+1), third(n/3, n-n/3), third(n-n/3-1, n)
	if num.SqAbs(b-a) == 0 {
		return c
	}
	shrink := real((c - b) / (b - a))
	if shrink <= 0 || shrink > straight {
		return c
	}
	return c + (c-b)*complex(math.Min(shrink/(1-shrink), farthestAhead), 0)
}

// rangeBeyondNoise is how far values spread, less what noise makes of it.
func rangeBeyondNoise(x []float64) float64 {
	lo, hi := num.MinMax(x)
	var steps []float64
	for k := 2; k < len(x); k++ {
		steps = append(steps, num.Sq(x[k]-x[k-2]))
	}
	return math.Max(0, hi-lo-2*rangeAllows*math.Sqrt(lowMean(steps, squareLow)/2))
}

// The mean of the lowest three quarters, over that of all, of exponential variates and
// of squares of normal ones: ∫x·p from 0 to the quartile, over ¾.
const (
	exponentialLow = 0.5379
	squareLow      = 0.3662
)

// lowMean is the mean of positive values from their lowest three quarters, of which the
// mean is the given part: what jumps does not count as noise.
func lowMean(x []float64, part float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return num.Average(s[:len(s)-len(s)/4]) / part
}

// moves says that the ratio moved.
func (m Movement) moves() bool { return m.T > movementLimit || m.Trend || m.LevelsMove() }

// told says that it moved by enough to tell.
func (m Movement) told() bool {
	return m.moves() && m.Distance > movementFloor*math.Max(m.Ratio, movementSmall)
}

// Levels is the larger range of the two levels.
func (m Movement) Levels() float64 { return math.Max(m.LevelRange[0], m.LevelRange[1]) }

// LevelsMove says that a level varies by more than in any clean record.
func (m Movement) LevelsMove() bool { return m.Levels() > rangeTold }

// relative is how far the ratio strays, of itself, or of the stronger channel where the
// other is weak.
func (m Movement) relative() float64 { return m.Distance / math.Max(m.Ratio, movementSmall) }

// Half is the relative half-width in which the movement leaves the ratio; 0 where there
// is none.
func (m Movement) Half() float64 {
	if !m.moves() {
		return 0
	}
	return math.Max(m.Distance/m.Ratio, m.Onset)
}

// Worse says that there is more to tell of m.
func (m Movement) Worse(than Movement) bool {
	if a, b := m.LevelsMove(), than.LevelsMove(); a != b {
		return a
	}
	if m.told() != than.told() {
		return m.told()
	}
	return m.relative() > than.relative()
}

// While the tone comes up its level passes these parts of the largest, and must be so
// many times that of the silence before it.
const onsetLeast, onsetMost, onsetClear, onsetSteps = 0.01, 0.6, 10, 16

// onsetPeriods is how many periods of the tone are compared, at least.
const onsetPeriods = 1.5

// onsetLowest stands for a ratio that has nothing to do with the fitted one.
const onsetLowest = 0.01

// Onset returns how far the ratio of two channels differs, in size, while a tone comes
// up, from the fitted one. x begins in the silence and ends where the tone stands; fitted
// has the phase of its middle. An automatic gain has done little as yet by then, or is at
// its largest in both inputs. Where an input is shut, as by a gate, nothing is compared.
// ok is false where the tone comes up too fast to tell.
func Onset(x [][]float64, fitted []complex128, rateHz, freqHz float64) (away float64, ok bool) {
	if len(x) != 2 || len(fitted) != 2 {
		return 0, false
	}
	strong := stronger(fitted)
	r := findRise(x[strong], x[1-strong], rateHz, freqHz)
	if r.blocks < 3 {
		return 0, false
	}
	to := min(len(x[0]), max(r.to, r.from+int(math.Ceil(onsetPeriods*rateHz/freqHz))))
	start := cmplx.Conj(turnHalf(freqHz/rateHz, len(x[0])-1))
	ratio := cmplx.Abs(compare(x[strong], x[1-strong], fitted[strong]*start, fitted[1-strong]*start, freqHz/rateHz, r.from, to))
	return math.Abs(math.Log(math.Max(ratio, onsetLowest))), true
}

// rise is the stretch in which a tone comes up, as seen in so many blocks.
type rise struct{ from, to, blocks int }

// findRise follows the level up to its peak.
func findRise(strong, weak []float64, rateHz, freqHz float64) (r rise) {
	length := onsetLength(rateHz, freqHz)
	if len(strong) < length {
		return r
	}
	h := hannTable(freqHz/rateHz, length)
	var level [2][]float64
	for at := 0; at+length <= len(strong); at += length / onsetSteps {
		level[0] = append(level[0], cmplx.Abs(h.sum(strong[at:])))
		level[1] = append(level[1], cmplx.Abs(h.sum(weak[at:])))
	}
	_, full := num.MinMax(level[0])
	least := [2]float64{onsetClear * num.Quantile(level[0], 0.1), onsetClear * num.Quantile(level[1], 0.1)}
	for k, a := range level[0] {
		at := k * (length / onsetSteps)
		b := level[1][k]
		if b > least[1] && a > math.Max(least[0], onsetLeast*full) && a < onsetMost*full && !shut(strong[at:at+length]) && !shut(weak[at:at+length]) {
			if r.blocks == 0 {
				r.from = at + length/2
			}
			r.to = at + length/2
			r.blocks++
		}
		if a == full {
			break
		}
	}
	return r
}

// shut reports whether two samples in a row are zero, which those of a tone are not.
func shut(x []float64) bool {
	for i := 1; i < len(x); i++ {
		if x[i] == 0 && x[i-1] == 0 {
			return true
		}
	}
	return false
}

// compare returns the gain of channel y over that of channel x in [from, to), re that of
// the amplitudes b and a, which have the phase of frame 0. A gain common to both keeps
//
//	y·Re(a·e^jωt) = x·Re(b·e^jωt)
//
// at every sample, however fast it moves, where blocks of a window see it ripple with the
// tone. The slope between the two sides is fitted together with that to x·Im(b·e^jωt),
// for a shift of phase.
func compare(x, y []float64, a, b complex128, turns float64, from, to int) complex128 {
	var pp, qq, pq, pz, qz float64
	for i := from; i < to; i++ {
		turn := turnTo(turns, i)
		z, p, q := y[i]*real(a*turn), x[i]*real(b*turn), x[i]*imag(b*turn)
		pp, qq, pq, pz, qz = pp+p*p, qq+q*q, pq+p*q, pz+p*z, qz+q*z
	}
	d := pp*qq - pq*pq
	return complex((pz*qq-qz*pq)/d, -(qz*pp-pz*pq)/d)
}

// Compare judges the movement of the ratio anew, sample by sample, where the levels move.
// x holds both channels of the stretch with the tone and its harmonics.
func (m *Movement) Compare(x [][]float64, fitted []complex128, rateHz, freqHz float64, skip func(from, end int) bool) {
	strong, turns := stronger(fitted), freqHz/rateHz
	length := trackLength(rateHz, freqHz, 0)
	start := cmplx.Conj(turnHalf(turns, len(x[0])-1))
	v := fitted[1-strong] / fitted[strong]
	var ratio []complex128
	for at := 0; at+length <= len(x[0]); at += length / 2 {
		if skip(at, at+length) || shut(x[0][at:at+length]) || shut(x[1][at:at+length]) {
			continue
		}
		ratio = append(ratio, v*compare(x[strong], x[1-strong], fitted[strong]*start, fitted[1-strong]*start, turns, at, at+length))
	}
	if len(ratio) >= 2*movementParts {
		m.Distance = 0
		m.judge(ratio, v)
	}
}

// onsetLength is that of the blocks in which a tone is followed while it comes up: three
// periods, or 1.5 ms.
func onsetLength(rateHz, freqHz float64) int {
	return 2 * max(onsetSteps, int(math.Round(math.Max(1.5/freqHz, 0.75e-3)*rateHz)))
}

// stronger is the channel of two with the larger amplitude.
func stronger(z []complex128) int {
	if cmplx.Abs(z[1]) > cmplx.Abs(z[0]) {
		return 1
	}
	return 0
}
