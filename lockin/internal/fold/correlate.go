package fold

import (
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/phase"
	"gonum.org/v1/gonum/dsp/fourier"
)

// Correlator forms the sums
//
//	S(f) = Σ_n x[n]·exp(−j2πfn/rate),  n = 0 at the first sample added,
//
// for several frequencies over one channel that arrives in blocks of any length.
// A tone A·cos(2πfn/rate + φ) over N samples that hold whole cycles gives
// S = ½N·A·exp(jφ).
//
// Tones on a common grid k·rate/period (see [phase.Grid]) share one pass that adds
// samples modulo the period; a tone off every grid has a pass of its own. Phases
// are kept as integer fractions of a turn: after ten million samples a sum is
// within 1e-13 of N times the largest sample.
//
// A Correlator holds fixed memory and its Add does not allocate. It is not safe
// for concurrent use.
type Correlator[T Sample] struct {
	frames int64
	tones  int
	folds  []*foldedTones[T]
	turned []turnedTone[T]
}

type turnedTone[T Sample] struct {
	index int
	*Rotator[T]
}

// NewCorrelator prepares for the frequencies. Negative ones and ones beyond half
// the rate are legal and mean what the sum says. Frequencies must be finite and
// the rate positive; the error wraps [ErrFrequency].
func NewCorrelator[T Sample](freqsHz []float64, rateHz float64) (*Correlator[T], error) {
	return newCorrelator[T](freqsHz, rateHz, phase.MaxGridPeriod)
}

func newCorrelator[T Sample](freqsHz []float64, rateHz float64, maxPeriod int) (*Correlator[T], error) {
	if err := phase.CheckFrequencies(freqsHz, rateHz); err != nil {
		return nil, err
	}
	c := &Correlator[T]{tones: len(freqsHz)}
	groups, loose := groupByGrid(freqsHz, rateHz, maxPeriod)
	for _, g := range groups {
		c.folds = append(c.folds, newFoldedTones[T](g))
	}
	for _, i := range loose {
		c.turned = append(c.turned, turnedTone[T]{i, NewRotator[T](phase.StepOf(freqsHz[i], rateHz))})
	}
	return c, nil
}

// Add takes the next block of samples. x is only read.
func (c *Correlator[T]) Add(x []T) {
	c.frames += int64(len(x))
	for _, f := range c.folds {
		f.Add(x)
	}
	// Several tones go over the samples a cache's worth at a time, so that only
	// the first of them waits for memory.
	chunk := len(x)
	if len(c.turned) > 1 {
		chunk = 4 * RotateSpan * RotateBlock
	}
	for len(x) > 0 {
		n := min(chunk, len(x))
		for _, t := range c.turned {
			t.Add(x[:n])
		}
		x = x[n:]
	}
}

// Frames returns how many samples were added.
func (c *Correlator[T]) Frames() int64 { return c.frames }

// Sums returns S for each frequency, in dst if it is long enough. The stream may
// go on afterwards.
func (c *Correlator[T]) Sums(dst []complex128) []complex128 {
	if cap(dst) < c.tones {
		dst = make([]complex128, c.tones)
	}
	dst = dst[:c.tones]
	for _, f := range c.folds {
		f.sums(dst)
	}
	for _, t := range c.turned {
		dst[t.index] = t.Sum()
	}
	return dst
}

// Reset forgets the samples; the next one is n = 0 again.
func (c *Correlator[T]) Reset() {
	c.frames = 0
	for _, f := range c.folds {
		f.Reset()
	}
	for _, t := range c.turned {
		t.Reset()
	}
}

// Correlate returns Σ x[n]·exp(−j2πfn/rate) for each frequency, n = 0 at x[0],
// in dst if it is long enough (nil allocates). See [Correlator] for what may be
// asked and how exact it is. An empty x gives zeros. A record of millions of samples
// is shared among the cores. It is safe for concurrent use.
func Correlate[T Sample](dst []complex128, x []T, freqsHz []float64, rateHz float64) ([]complex128, error) {
	if parts := sharers(len(x)); parts > 1 {
		return correlateShared(dst, x, freqsHz, rateHz, parts)
	}
	return correlateAlone(dst, x, freqsHz, rateHz)
}

// correlateAlone is Correlate on one core.
func correlateAlone[T Sample](dst []complex128, x []T, freqsHz []float64, rateHz float64) ([]complex128, error) {
	// A period longer than half the record folds nothing.
	c, err := newCorrelator[T](freqsHz, rateHz, min(phase.MaxGridPeriod, len(x)/2))
	if err != nil {
		return nil, err
	}
	c.Add(x)
	return c.Sums(dst), nil
}

// gridGroup is a set of tones on one grid: tone index[i] has harmonic[i] cycles
// in period samples.
type gridGroup struct {
	period   int
	index    []int
	harmonic []int
}

// groupByGrid sorts tones into common grids of at most maxPeriod samples, first
// fit; tones that lie on none are returned apart.
func groupByGrid(freqsHz []float64, rateHz float64, maxPeriod int) (groups []gridGroup, loose []int) {
	for i, f := range freqsHz {
		k, period, ok := phase.Grid(f, rateHz)
		if !ok || period > maxPeriod || !joinGroup(&groups, i, k, period, maxPeriod) {
			loose = append(loose, i)
		}
	}
	return groups, loose
}

func joinGroup(groups *[]gridGroup, index, k, period, maxPeriod int) bool {
	for i := range *groups {
		g := &(*groups)[i]
		common := num.Lcm(g.period, period)
		if common > maxPeriod {
			continue
		}
		for j := range g.harmonic {
			g.harmonic[j] *= common / g.period
		}
		g.period = common
		g.index = append(g.index, index)
		g.harmonic = append(g.harmonic, k*(common/period))
		return true
	}
	*groups = append(*groups, gridGroup{period, []int{index}, []int{k}})
	return true
}

// foldedTones is a fold and the tones to be read from it.
type foldedTones[T Sample] struct {
	*Folder[T]
	gridGroup
	fft   *fourier.FFT // nil: one rotating fold per tone
	coeff []complex128
	turn  []*Rotator[float64]
}

// fftWorthwhile is the number of tones from which one transform of the folded
// period beats a rotating fold for each of them.
const fftWorthwhile = 6

func newFoldedTones[T Sample](g gridGroup) *foldedTones[T] {
	f := &foldedTones[T]{Folder: NewFolder[T](g.period), gridGroup: g}
	if len(g.index) >= fftWorthwhile && smooth(g.period) {
		n := len(f.Acc)
		f.fft, f.coeff = fourier.NewFFT(n), make([]complex128, n/2+1)
		return f
	}
	for _, k := range g.harmonic {
		f.turn = append(f.turn, NewRotator[float64](phase.GridTurns(uint64(k), uint64(g.period))))
	}
	return f
}

// smooth reports whether n has no prime factor above 5, which is what the
// transform has fast passes for.
func smooth(n int) bool {
	for _, p := range []int{2, 3, 5} {
		for n%p == 0 {
			n /= p
		}
	}
	return n == 1
}

func (f *foldedTones[T]) sums(dst []complex128) {
	if f.fft == nil {
		for j, r := range f.turn {
			r.Reset()
			r.Add(f.Acc)
			dst[f.index[j]] = r.Sum()
		}
		return
	}
	f.fft.Coefficients(f.coeff, f.Acc)
	for j, k := range f.harmonic {
		dst[f.index[j]] = f.bin(k)
	}
}

// bin returns harmonic k of the period from the half spectrum of a real signal.
func (f *foldedTones[T]) bin(k int) complex128 {
	n := len(f.Acc)
	k = k * (n / f.period) % n
	if k > n/2 {
		c := f.coeff[n-k]
		return complex(real(c), -imag(c))
	}
	return f.coeff[k]
}
