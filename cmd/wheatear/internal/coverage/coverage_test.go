package coverage

import (
	"flag"
	"fmt"
	"math"
	"math/cmplx"
	"runtime"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/uncertain"
)

var (
	soak   = flag.Bool("soak", false, "run the long statistical tests")
	number = flag.Int("benches", 1000, "how many benches the long test draws")
)

// tally counts intervals that hold the truth.
type tally struct {
	of, holding  int
	below, above int // truths below and above their interval
	absent       int
	halves       int // bounded on one side only
}

func (t *tally) add(q uncertain.Quantity, truth float64) {
	if q.IsAbsent() {
		t.absent++
		return
	}
	t.of++
	switch {
	case truth < q.Low:
		t.below++
	case truth > q.High:
		t.above++
	default:
		t.holding++
	}
	if math.IsInf(q.Low, 0) || math.IsInf(q.High, 0) || math.IsNaN(q.Value) {
		t.halves++
	}
}

func (t *tally) merge(o *tally) {
	t.of, t.holding, t.below, t.above = t.of+o.of, t.holding+o.holding, t.below+o.below, t.above+o.above
	t.absent, t.halves = t.absent+o.absent, t.halves+o.halves
}

func (t *tally) share() float64 { return float64(t.holding) / float64(t.of) }

// figures are the figures that are held against the truth.
var figures = []string{"R", "X", "|Z|", "phase", "C/L", "D", "Q", "Rs", "Rp", "C/Lp"}

// coverages is a tally for each regime and quantity.
type coverages struct {
	counts   map[regime]map[string]*tally
	refused  []string // benches without a reading, and why
	readings int
}

func newCoverages() *coverages {
	c := &coverages{counts: map[regime]map[string]*tally{}}
	for _, r := range regimes {
		c.counts[r] = map[string]*tally{}
		for _, f := range figures {
			c.counts[r][f] = &tally{}
		}
	}
	return c
}

// score holds a reading against what the part is.
func (c *coverages) score(b *drawnBench, m *fixture.Corrected) {
	c.readings++
	if !m.Trusted {
		for _, f := range m.Findings {
			if f.Severity == finding.Invalid {
				c.refused = append(c.refused, fmt.Sprintf("%s: %s: %s", b, f.Code, f.Detail))
			}
		}
		return
	}
	z, r, at := b.part.ohm, m.Reading, c.counts[b.regime]
	w := 2 * math.Pi * b.freqHz * (1 + b.clock)
	y := 1 / z
	at["R"].add(r.Re, real(z))
	at["X"].add(r.Im, imag(z))
	at["|Z|"].add(r.Modulus, cmplx.Abs(z))
	at["phase"].add(r.Phase, cmplx.Phase(z))
	at["Rs"].add(r.Series.R, real(z))
	at["Rp"].add(r.Parallel.R, 1/real(y))
	at["D"].add(r.D, real(z)/math.Abs(imag(z)))
	at["Q"].add(r.Q, math.Abs(imag(z))/real(z))
	if imag(z) < 0 {
		at["C/L"].add(r.Series.C, -1/(w*imag(z)))
		at["C/Lp"].add(r.Parallel.C, imag(y)/w)
	} else {
		at["C/L"].add(r.Series.L, imag(z)/w)
		at["C/Lp"].add(r.Parallel.L, -1/(w*imag(y)))
	}
}

// drawnCoverages measures the first n benches.
func drawnCoverages(t *testing.T, n int) *coverages {
	c := newCoverages()
	var mu sync.Mutex
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for k := range next {
				b, err := drawBench(k)
				if err != nil {
					t.Errorf("bench %d: %v", k, err)
					continue
				}
				m, err := b.measure()
				mu.Lock()
				if err != nil {
					t.Errorf("bench %d: %s: %v", k, b, err)
				} else {
					c.score(b, m)
				}
				mu.Unlock()
			}
		})
	}
	for k := range n {
		next <- k
	}
	close(next)
	wg.Wait()
	return c
}

// all is the tally of one quantity over all regimes.
func (c *coverages) all(figure string) *tally {
	sum := &tally{}
	for _, r := range regimes {
		sum.merge(c.counts[r][figure])
	}
	return sum
}

func (c *coverages) table() string {
	var s strings.Builder
	row := func(name string, of func(figure string) *tally) {
		fmt.Fprintf(&s, "%-8s", name)
		for _, f := range figures {
			t := of(f)
			fmt.Fprintf(&s, " %5.1f%% -%d+%d/%d", 100*t.share(), t.below, t.above, t.of)
			if t.absent+t.halves > 0 {
				fmt.Fprintf(&s, "(%d,%d)", t.absent, t.halves)
			}
		}
		s.WriteByte('\n')
	}
	fmt.Fprintf(&s, "share holding the truth, truths below and above, intervals (absent, one-sided): %s\n", strings.Join(figures, ", "))
	row("all", c.all)
	for _, r := range regimes {
		row(string(r), func(f string) *tally { return c.counts[r][f] })
	}
	return s.String()
}

// chance is the probability of a count this far from 95 %, on its side.
func (t *tally) chance() float64 {
	b := distuv.Binomial{N: float64(t.of), P: 0.95}
	k := float64(t.holding)
	return math.Min(b.CDF(k), 1-b.CDF(k-1))
}

// rare is the chance below which a count is not put down to luck: some eighty counts
// are looked at.
const rare = 1e-4

// TestCoverage calibrates and reads benches of which everything declared was drawn.
func TestCoverage(t *testing.T) {
	notShort(t)
	c := drawnCoverages(t, 28)
	t.Log("\n" + c.table())
	for _, r := range c.refused {
		t.Errorf("refused: %s", r)
	}
	for _, f := range figures {
		if a := c.all(f); a.chance() < rare {
			t.Errorf("%s: %d of %d intervals hold the truth", f, a.holding, a.of)
		}
	}
}

// TestSoakCoverage does so with a thousand, and in every regime by itself, so that
// none hides too few behind too many of another.
// notShort leaves a test out of short runs, which look for races: statistics say
// nothing about them, and the simulation is slow there.
func notShort(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("statistics, not in short runs")
	}
}

func TestSoakCoverage(t *testing.T) {
	if !*soak {
		t.Skip("takes minutes; -soak")
	}
	c := drawnCoverages(t, *number)
	t.Log("\n" + c.table())
	for _, r := range c.refused {
		t.Errorf("refused: %s", r)
	}
	for _, f := range figures {
		if share := c.all(f).share(); share < 0.93 || share > 0.97 {
			t.Errorf("%s: %.1f %% of the intervals hold the truth", f, 100*share)
		}
		for _, r := range regimes {
			a := c.counts[r][f]
			if r == withoutLoad && a.share() > 0.95 {
				continue // crosstalk a quarter turn off is declared and cannot be simulated
			}
			if a.chance() < rare {
				t.Errorf("%s, %s: %d of %d intervals hold the truth", r, f, a.holding, a.of)
			}
		}
	}
}
