package incircuit

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Question is what is asked of a sweep.
type Question struct {
	Kind impedance.Kind // of the part: a capacitor, an inductor or a resistor
	// Nominal is what the part should be, in SI; 0 where nobody knows. It decides
	// between branches that are alike from outside, and nothing else.
	Nominal  float64
	Families []Family // of surroundings; nil for DefaultFamilies
}

// Answer is what can be said of the part.
type Answer struct {
	Told bool
	// Value is C, L or R of the part with the interval that the surroundings leave;
	// absent where it cannot be told.
	Value uncertain.Quantity
	// Why it cannot be told, or what the answer rests on, in a sentence.
	Why string
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
	wide   = 0.5 // half the interval over the value: more is not told
	counts = 0.1 // weight of a model that has a say in the interval
)

// Ask tries all surroundings. Errors: a sweep or a question that cannot be used.
func Ask(s *Sweep, q Question) (*Answer, error) {
	f, err := newFitter(s)
	if err != nil {
		return nil, err
	}
	if !slices.Contains([]impedance.Kind{impedance.Capacitor, impedance.Inductor, impedance.Resistor}, q.Kind) {
		return nil, fmt.Errorf("incircuit: say what the part is: a capacitor, an inductor or a resistor")
	}
	families := q.Families
	if families == nil {
		families = DefaultFamilies()
	}
	a := &Answer{Value: uncertain.Absent()}
	families, a.Assumed = separable(q.Kind, families)
	for _, around := range branches(families) {
		for _, extra := range []bool{false, true} {
			n := newNetwork(q.Kind, extra, around, s.span())
			if 2*len(s.FreqHz) <= len(n.unknowns)+1 {
				continue
			}
			if m, err := f.try(n, q.Nominal); err == nil {
				a.Models = append(a.Models, m)
			}
		}
	}
	a.weigh()
	a.conclude(f, q)
	return a, nil
}

// separable drops what is of the same nature as the part: at every frequency the two
// are one element.
func separable(kind impedance.Kind, families []Family) (left []Family, assumed string) {
	like := map[impedance.Kind]Family{impedance.Resistor: R, impedance.Capacitor: C}[kind]
	for _, f := range families {
		if f == like && f != Nothing {
			assumed = fmt.Sprintf("%s in parallel with a %s cannot be seen at any frequency; the answer is that of both together", around(f), kind)
			continue
		}
		left = append(left, f)
	}
	return left, assumed
}

// needless reports whether a simpler network, which is this one without something,
// fits and is not the worse by Akaike's criterion: nothing in the sweep speaks for
// the rest then.
func (a *Answer) needless(m *Model) bool {
	for _, s := range a.Models {
		if s != m && s.Fits && s.aic <= m.aic && s.net.without(m.net) {
			return true
		}
	}
	return false
}

// without reports whether a network is the other one without something.
func (n *network) without(other *network) bool {
	if n.extra && !other.extra {
		return false
	}
	for _, f := range n.around {
		if !slices.Contains(other.around, f) {
			return false
		}
	}
	return true
}

// weigh sorts the models and shares the weight among those that fit and are needed.
func (a *Answer) weigh() {
	best := math.Inf(1)
	for _, m := range a.Models {
		if m.Fits {
			best = math.Min(best, m.aic)
		}
	}
	sum := 0.0
	for _, m := range a.Models {
		if m.Fits && !a.needless(m) {
			m.Weight = math.Exp((best - m.aic) / 2)
			sum += m.Weight
		}
	}
	for _, m := range a.Models {
		if sum > 0 {
			m.Weight /= sum
		}
	}
	slices.SortStableFunc(a.Models, func(x, y *Model) int {
		switch {
		case x.Fits != y.Fits:
			if x.Fits {
				return -1
			}
			return 1
		case x.aic < y.aic:
			return -1
		case x.aic > y.aic:
			return 1
		}
		return 0
	})
}

// conclude makes the answer from the models that fit.
func (a *Answer) conclude(f *fitter, q Question) {
	if len(a.Models) == 0 || !a.Models[0].Fits {
		a.Why = "none of the assumed surroundings agrees with the sweep: something else hangs on the part, a junction conducts, or the part is another"
		return
	}
	best := a.Models[0]
	union := uncertain.Quantity{Low: math.Inf(1), High: math.Inf(-1)}
	var open, said []string
	for _, m := range a.Models {
		if m.Weight < counts {
			continue
		}
		f.interval(m)
		said = append(said, around(m.Around))
		union.Low, union.High = math.Min(union.Low, m.Value.Low), math.Max(union.High, m.Value.High)
		if !m.Bounded {
			open = append(open, around(m.Around))
		}
	}
	said = slices.Compact(said)
	union.Value = best.Value.Value
	union.U = (union.High - union.Low) / 2 / 1.96
	a.dominance(f.sweep, best)
	switch half := (union.High - union.Low) / 2 / union.Value; {
	case len(open) > 0:
		a.Why = fmt.Sprintf("with %s in parallel the sweep leaves the part open: take the board's part out, or one of its legs, or read at other frequencies", open[0])
	case half > wide:
		a.Why = fmt.Sprintf("with %s in parallel the sweep leaves the part between %.2g and %.2g of the likeliest value", strings.Join(said, " or "), union.Low/union.Value, union.High/union.Value)
	default:
		a.Told, a.Value = true, union
		a.Why = "assumed in parallel: " + strings.Join(said, "; or ")
	}
	if a.Told {
		a.mislead(f.sweep, q.Kind)
	}
}

// around names surroundings in words.
func around(f Family) string {
	if f == Nothing {
		return "nothing"
	}
	words := map[string]string{"R": "a resistor", "C": "a capacitor", "RC": "a resistor with a capacitor in series", "RL": "a resistor with an inductor in series"}
	var out []string
	for _, part := range strings.Split(string(f), "+") {
		out = append(out, words[part])
	}
	return strings.Join(out, " and ")
}

// dominance finds the frequency where the part carries most of the current.
func (a *Answer) dominance(s *Sweep, m *Model) {
	least := math.Inf(1)
	for _, hz := range s.FreqHz {
		w := 2 * math.Pi * hz
		if off := cmplx.Abs(m.net.z(w, m.x)/m.net.part(w, m.x) - 1); off < least {
			least, a.BestHz = off, hz
			a.Share = 1 / (1 + off)
		}
	}
}

// mislead lists what single readings would show.
func (a *Answer) mislead(s *Sweep, kind impedance.Kind) {
	for i, hz := range s.FreqHz {
		w, z := 2*math.Pi*hz, s.Ohm[i]
		v := math.NaN()
		switch {
		case kind == impedance.Capacitor && imag(z) < 0:
			v = -1 / (w * imag(z))
		case kind == impedance.Inductor && imag(z) > 0:
			v = imag(z) / w
		case kind == impedance.Resistor:
			v = real(z)
		}
		a.Misleading = append(a.Misleading, Apparent{hz, v, v/a.Value.Value - 1})
	}
}
