package predict

import (
	"cmp"
	"math"
	"slices"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// Recognize says what a part is, and of what value, by readings at several frequencies;
// ok is false where none of them shows that. A part is what its reactance makes it at the
// lowest frequency at which that outweighs its resistance, since leads, windings and
// plates turn every part into another one further up; it is a resistor where none does.
func Recognize(look []impedance.Reading) (p Part, ok bool) {
	rising := slices.Clone(look)
	rising = slices.DeleteFunc(rising, func(r impedance.Reading) bool { return r.State != impedance.OK || r.Modulus.IsAbsent() })
	slices.SortFunc(rising, func(a, b impedance.Reading) int { return cmp.Compare(a.FreqHz.Value, b.FreqHz.Value) })
	kind := kindOf(rising)
	p.Kind = kind
	best := math.Inf(1)
	for _, r := range rising {
		q := p.Main(r)
		if h := HalfWidth(q); q.Value > 0 && h < best && (r.Dominance.Kind == kind || r.Dominance.Likeliest == kind) {
			best, p.Value = h, q.Value
		}
	}
	if kind == impedance.Undecided || !(p.Value > 0) {
		return Part{}, false
	}
	unit := parts.Ohm
	switch kind {
	case impedance.Capacitor:
		unit = parts.Farad
	case impedance.Inductor:
		unit = parts.Henry
	}
	p, err := NewPart(parts.Marking{Value: p.Value, Unit: unit}, "")
	return p, err == nil
}

// kindOf is the kind by readings of rising frequency.
func kindOf(rising []impedance.Reading) impedance.Kind {
	resistor, likely := false, impedance.Undecided
	surest := 0.0
	for _, r := range rising {
		switch kind := r.Dominance.Kind; kind {
		case impedance.Capacitor, impedance.Inductor:
			return kind
		case impedance.Resistor:
			resistor = true
		}
		if c := r.Dominance.Confidence; c > surest && r.Dominance.Likeliest != impedance.Undecided {
			surest, likely = c, r.Dominance.Likeliest
		}
	}
	if resistor {
		return impedance.Resistor
	}
	return likely
}

// DoubtKind is what may speak against what a part is taken for.
type DoubtKind string

// The doubts.
const (
	OnlyLikely DoubtKind = "only-likely" // no reading shows the kind with 95 %; Value is the probability of the surest
	OtherKind  DoubtKind = "other-kind"  // it is mostly something else at FreqHz; Value is its Q there
	Changes    DoubtKind = "changes"     // its main element has Value at FreqHz, beyond both intervals and 5 %
	Lossy      DoubtKind = "lossy"       // its loss, D or 1/Q, at FreqHz is Value: much for a part of the kind
	Across     DoubtKind = "across"      // a resistance of Value seems to lie across it, by its loss towards low frequencies
	Capacitive DoubtKind = "capacitive"  // a capacitance of Value seems to lie across a resistor, more than a body has
)

// Doubt is something in a look at a part that speaks against what it is taken for, or for
// other parts beside it.
type Doubt struct {
	Kind   DoubtKind
	FreqHz float64
	Value  float64
	Is     impedance.Kind // what OtherKind is instead
}

// Limits of doubts: common practice, no source.
const (
	muchLoss  = 0.5   // D or 1/Q at the frequency that suits the part
	muchMove  = 0.05  // of the value over frequency
	bodyFarad = 3e-12 // across a resistor, with its leads
	acrossD   = 0.02  // at the lowest frequency
	acrossBy  = 3     // times more than at the frequency that suits it
)

// Doubts says what in a look speaks against a part of the value that one of its readings,
// main, shows. Each kind is said once, where it is plainest.
func (p Part) Doubts(look []impedance.Reading, main impedance.Reading) (list []Doubt) {
	at, value := main.FreqHz.Value, p.Main(main)
	add := func(d Doubt) {
		if !slices.ContainsFunc(list, func(o Doubt) bool { return o.Kind == d.Kind }) {
			list = append(list, d)
		}
	}
	sure := 0.0
	shown := false
	for _, r := range look {
		shown = shown || r.Dominance.Kind == p.Kind
		if r.Dominance.Likeliest == p.Kind && r.Dominance.Confidence > sure {
			sure = r.Dominance.Confidence
		}
	}
	if !shown {
		add(Doubt{Kind: OnlyLikely, FreqHz: at, Value: sure})
	}
	if p.Kind != impedance.Resistor && main.D.Low > muchLoss {
		add(Doubt{Kind: Lossy, FreqHz: at, Value: main.D.Value})
	}
	near := slices.Clone(look)
	slices.SortFunc(near, func(a, b impedance.Reading) int {
		return cmp.Compare(math.Abs(math.Log(a.FreqHz.Value/at)), math.Abs(math.Log(b.FreqHz.Value/at)))
	})
	for _, r := range near {
		if r.State != impedance.OK || r.FreqHz.Value == at {
			continue
		}
		if kind := r.Dominance.Kind; kind != impedance.Undecided && kind != p.Kind {
			add(Doubt{OtherKind, r.FreqHz.Value, r.Q.Value, kind})
			continue
		}
		if q := p.Main(r); math.Abs(q.Value/value.Value-1) > muchMove && (q.Low > value.High || q.High < value.Low) {
			add(Doubt{Kind: Changes, FreqHz: r.FreqHz.Value, Value: q.Value})
		}
	}
	p.beside(look, main, add)
	return list
}

// beside looks for what may lie in parallel: in circuit, or in the part itself.
func (p Part) beside(look []impedance.Reading, main impedance.Reading, add func(Doubt)) {
	if len(look) == 0 {
		return
	}
	order := func(a, b impedance.Reading) int { return cmp.Compare(a.FreqHz.Value, b.FreqHz.Value) }
	lowest, highest := slices.MinFunc(look, order), slices.MaxFunc(look, order)
	switch {
	case p.Kind == impedance.Capacitor && lowest.D.Low > acrossD && lowest.D.Low > acrossBy*main.D.Value && lowest.FreqHz.Value < main.FreqHz.Value:
		add(Doubt{Kind: Across, FreqHz: lowest.FreqHz.Value, Value: lowest.Parallel.R.Value})
	case p.Kind == impedance.Resistor && highest.Parallel.C.Low > bodyFarad && highest.Q.Low > 0:
		add(Doubt{Kind: Capacitive, FreqHz: highest.FreqHz.Value, Value: highest.Parallel.C.Value})
	}
}
