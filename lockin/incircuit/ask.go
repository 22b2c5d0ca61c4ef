package incircuit

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// ErrQuestion is wrapped where a question cannot be asked of a sweep.
var ErrQuestion = errors.New("incircuit: this cannot be asked of a sweep")

// Question is what is asked of a sweep.
type Question struct {
	Kind impedance.Kind // of the part: a capacitor, an inductor or a resistor
	// Nominal is what the part should be, in SI; 0 where nobody knows. It decides which
	// of several branches may be the part, and nothing else.
	Nominal  float64
	Families []Family // of surroundings; nil for DefaultFamilies
}

// Answer is what can be said of the part.
type Answer struct {
	// Told is whether the value is determined.
	Told bool
	// Value is C, L or R of the part with the interval that the surroundings leave;
	// absent where it is undetermined.
	Value uncertain.Quantity
	// Series is the resistance in series in the same branch, in ohm: the ESR of a
	// capacitor, the winding of an inductor. Low is 0 where the sweep shows no more than
	// a bound. Absent for a resistor, and where Value is.
	Series uncertain.Quantity
	// Branches are the branches that may be the part, where there are several; Value and
	// Series span them.
	Branches []*Model
	// Why it is undetermined, or what the answer rests on, in a sentence.
	Why string
	// Verdict compares the value with the nominal one, in words; empty without either.
	Verdict string
	// Assumed is what no sweep can show and the answer therefore takes for granted;
	// empty for nothing beyond the families.
	Assumed string
	Models  []*Model // that were tried, the likeliest first
	// BestHz is where the part dominates most, and Share its part of the admittance
	// there (1: nothing else is seen).
	BestHz, Share float64
	// Misleading is what a reading at one frequency would have made of the part.
	Misleading []Apparent
}

// Apparent is the value that a reading at one frequency shows.
type Apparent struct {
	FreqHz float64
	Value  float64 // C, L or R in series; NaN where the reading is of another kind
	Off    float64 // relative to the part
}

const (
	wide   = 0.5  // half the interval over the value: more is not determined
	counts = 0.05 // probability of a model that has a say in the interval
	clear  = 6.0  // of the score: the simpler network is out of the question
)

// Ask tries all surroundings. A network counts by its probability, with any size of any
// element as probable beforehand (see volume), so that one needs no rule for when a
// network is too simple or too rich; all that count have a say in the intervals. Errors:
// a sweep or a question that cannot be used.
func Ask(s *Sweep, q Question) (*Answer, error) {
	f, err := newFitter(s)
	if err != nil {
		return nil, err
	}
	if !slices.Contains([]impedance.Kind{impedance.Capacitor, impedance.Inductor, impedance.Resistor}, q.Kind) {
		return nil, errkind.Errorf(ErrQuestion, "incircuit: say what the part is: a capacitor, an inductor or a resistor")
	}
	families := q.Families
	if families == nil {
		families = defaultFamilies()
	}
	a := &Answer{Value: uncertain.Absent(), Series: uncertain.Absent()}
	families, a.Assumed = separable(q.Kind, families)
	a.Models = f.tryAll(networks(q.Kind, families, s))
	a.weigh(q.Nominal)
	a.conclude(f, q)
	return a, nil
}

// networks lists what is tried.
func networks(kind impedance.Kind, families []Family, s *Sweep) []*network {
	var out []*network
	add := func(leaks bool, around []Family) {
		for _, extra := range []bool{false, true} {
			if n := newNetwork(kind, leaks, extra, around, s.span()); 2*len(s.FreqHz) > len(n.unknowns)+1 {
				out = append(out, n)
			}
		}
	}
	for _, around := range branches(families) {
		add(false, around)
		// A resistor across the part, or across what is behind its series resistance: the
		// two look alike at every frequency, and the part has another value in each.
		if i := slices.Index(around, R); i >= 0 && kind != impedance.Resistor {
			add(true, slices.Delete(slices.Clone(around), i, i+1))
		}
	}
	return out
}

// tryAll fits networks side by side; the order is that of the list.
func (f *fitter) tryAll(list []*network) []*Model {
	if len(list) == 0 {
		return nil
	}
	found := make([][]*Model, len(list))
	if found[0] = f.try(list[0]); len(found[0]) > 0 {
		f.bare = found[0][0].x
	}
	var group sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), len(list)) {
		group.Go(func() {
			for i := range next {
				found[i] = f.try(list[i])
			}
		})
	}
	for i := range list[1:] {
		next <- i + 1
	}
	close(next)
	group.Wait()
	return slices.Concat(found...)
}

// separable drops what is of the same nature as the part: at every frequency the two
// are one element.
func separable(kind impedance.Kind, families []Family) (left []Family, assumed string) {
	for _, f := range families {
		if kind == impedance.Resistor && f == R {
			assumed = fmt.Sprintf("%s in parallel with a %s cannot be seen at any frequency; the answer is that of both together", around(f), kind)
			continue
		}
		left = append(left, f)
	}
	if kind == impedance.Capacitor {
		assumed = "another capacitor in parallel with the same product of capacitance and series resistance cannot be seen at any frequency; the answer would be that of both together"
	}
	return left, assumed
}

// without reports whether a network is the other one without something.
func (n *network) without(other *network) bool {
	if n.extra && !other.extra || n.leaks && !other.leaks || len(n.unknowns) >= len(other.unknowns) {
		return false
	}
	for _, f := range n.around {
		if !slices.Contains(other.around, f) {
			return false
		}
	}
	return true
}

// weigh sorts the models and gives each that fits its probability. Which branch is the
// part is not for the sweep to say: where a branch is clearly there, any of them that
// fits the nominal value may be; where it is not, the part is what a simpler network
// says it is.
func (a *Answer) weigh(nominal float64) {
	slices.SortStableFunc(a.Models, func(x, y *Model) int {
		switch {
		case x.Fits != y.Fits && x.Fits:
			return -1
		case x.Fits != y.Fits:
			return 1
		}
		return cmp.Compare(x.score, y.score)
	})
	may := a.candidates(nominal)
	sum, least := 0.0, math.Inf(1)
	for _, m := range may {
		least = math.Min(least, m.score)
	}
	for _, m := range may {
		m.Weight = math.Exp((least - m.score) / 2)
		sum += m.Weight
	}
	for _, m := range may {
		m.Weight /= sum
	}
	slices.SortStableFunc(a.Models, func(x, y *Model) int { return cmp.Compare(y.Weight, x.Weight) })
}

// candidates are the models that fit and whose branch may be the part.
func (a *Answer) candidates(nominal float64) []*Model {
	var out []*Model
	for _, m := range a.Models {
		if s := a.simpler(m); m.Fits && !a.needless(m) && (s == nil || a.nearest(m, s)) {
			out = append(out, m)
		}
	}
	if nominal <= 0 {
		return out
	}
	off := func(m *Model) float64 { return math.Abs(m.x[0] - math.Log(nominal)) }
	least := math.Inf(1)
	for _, m := range out {
		if m.score < out[0].score+clear {
			least = math.Min(least, off(m))
		}
	}
	return slices.DeleteFunc(out, func(m *Model) bool { return off(m) > math.Max(near, least+nearer) })
}

// How far, as a logarithm, a branch may be from the nominal value to be taken for the
// part, if another is nearer: common practice, no source.
var near, nearer = math.Log(2), math.Log(1.5)

// simpler is the best network that fits and is a model's without a branch, unless the
// sweep shows clearly that the branch is there.
func (a *Answer) simpler(m *Model) *Model {
	var best *Model
	for _, s := range a.Models {
		if s.Fits && s.net.without(m.net) && s.score < m.score+clear && (best == nil || s.score < best.score) {
			best = s
		}
	}
	return best
}

// needless reports whether a simpler network does as well by Akaike's criterion.
func (a *Answer) needless(m *Model) bool {
	return slices.ContainsFunc(a.Models, func(s *Model) bool {
		return s.Fits && s.net.without(m.net) && s.ChiSquare <= m.ChiSquare+2*float64(len(m.net.unknowns)-len(s.net.unknowns))
	})
}

// nearest reports whether no other model of the same network has the part nearer to
// that of a simpler one.
func (a *Answer) nearest(m, simple *Model) bool {
	for _, o := range a.Models {
		if o.net == m.net && math.Abs(o.x[0]-simple.x[0]) < math.Abs(m.x[0]-simple.x[0]) {
			return false
		}
	}
	return true
}

// conclude makes the answer from the models that count.
func (a *Answer) conclude(f *fitter, q Question) {
	if len(a.Models) == 0 || a.Models[0].Weight == 0 {
		a.Why = "none of the assumed surroundings agrees with the sweep: something else hangs on the part, a junction conducts, or the part is another"
		return
	}
	best := a.Models[0]
	var open, said []string
	var used []*Model
	for _, m := range a.Models {
		if m.Weight < counts && m.Weight < best.Weight {
			continue
		}
		used = append(used, m)
	}
	f.allIntervals(used)
	for _, m := range used {
		if !slices.Contains(said, m.words()) {
			said = append(said, m.words())
		}
		if !m.Bounded {
			open = append(open, m.words())
		}
	}
	value := spanned(used, func(m *Model) uncertain.Quantity { return m.Value })
	a.dominance(f.sweep, best)
	a.Branches = alternatives(used)
	switch half := (value.High - value.Low) / 2 / value.Value; {
	case len(open) > 0:
		a.Why = fmt.Sprintf("with %s in parallel the sweep leaves the part open: take the board's part out, or one of its legs, or read at other frequencies", open[0])
	case q.Nominal > 0 && q.Kind == impedance.Capacitor && value.Low > tooMuch*q.Nominal:
		a.Why = fmt.Sprintf("what is seen is %.2g times the nominal value: another capacitor in parallel, or another part", value.Low/q.Nominal)
	case half > wide:
		a.Why = fmt.Sprintf("with %s in parallel the sweep leaves the part between %.2g and %.2g of the likeliest value", strings.Join(said, " or "), value.Low/value.Value, value.High/value.Value)
	default:
		a.Told, a.Value = true, value
		a.Why = "assumed in parallel: " + strings.Join(said, "; or ")
		if q.Kind != impedance.Resistor {
			a.Series = spanned(used, func(m *Model) uncertain.Quantity { return m.Series })
		}
		a.mislead(f.sweep, q.Kind)
	}
	a.Verdict = verdict(a.Value, q)
	if len(a.Branches) > 0 {
		a.Why += "; " + a.listed(q)
	}
}

// tooMuch is how many times the nominal value no single capacitor has: common practice,
// no source.
const tooMuch = 1.6

// allIntervals finds the intervals of models side by side.
func (f *fitter) allIntervals(list []*Model) {
	var group sync.WaitGroup
	for _, m := range list {
		group.Go(func() { f.intervals(m) })
	}
	group.Wait()
}

// spanned is the interval over all models. Where there are several its middle is the
// value: which of them is the likeliest hangs on the noise.
func spanned(list []*Model, of func(*Model) uncertain.Quantity) uncertain.Quantity {
	out := of(list[0])
	for _, m := range list[1:] {
		q := of(m)
		out.Low, out.High = math.Min(out.Low, q.Low), math.Max(out.High, q.High)
	}
	out.U = (out.High - out.Low) / 2 / 1.96
	if len(list) > 1 && !math.IsInf(out.High, 0) {
		out.Value = (out.Low + out.High) / 2
	}
	return out
}

// alternatives are branches of one network of which more than one may be the part.
func alternatives(used []*Model) []*Model {
	var out []*Model
	for _, m := range used {
		if m.net == used[0].net {
			out = append(out, m)
		}
	}
	if len(out) < 2 {
		return nil
	}
	return out
}
