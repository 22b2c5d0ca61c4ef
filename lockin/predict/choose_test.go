package predict

import (
	"math"
	"strings"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

func expected(t testing.TB, text string, kind parts.Type) Part {
	t.Helper()
	readings, err := parts.Read(text, kind.Unit())
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewPart(parts.Likeliest(readings, text), kind)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func mustPlan(t testing.TB, s *Setup, w Wish) *Plan {
	t.Helper()
	p, err := s.Plan(w)
	if err != nil || len(p.Choices) == 0 {
		t.Fatalf("%v, refused %v", err, p)
	}
	return p
}

var drawer = []float64{10, 100, 1e3, 10e3, 100e3}

// The first choice is nearly the best of what is predicted; a reference far from the
// part never is.
func TestPlanPutsTheBestFirst(t *testing.T) {
	s := bench(t)
	for text, reference := range map[string][2]float64{"4700u": {10, 100}, "1": {10, 10}, "100n": {100, 10e3}, "100p": {10e3, 100e3}, "10mH": {10, 1e3}, "1M": {100e3, 100e3}} {
		p := mustPlan(t, s, Wish{Part: expected(t, text, ""), ReferenceOhm: drawer})
		best := p.Choices[0]
		for _, c := range p.Choices {
			if c.Half < best.Half/(1+nearly)*(1-1e-12) {
				t.Errorf("%s: %g ohm at %g Hz comes to %g, the first choice to %g", text, c.ReferenceOhm, c.FreqHz, c.Half, best.Half)
			}
		}
		if best.ReferenceOhm < reference[0] || best.ReferenceOhm > reference[1] {
			t.Errorf("%s: %g ohm was chosen", text, best.ReferenceOhm)
		}
	}
}

// The frequencies are those of the component standards.
func TestPlanGoesByTheStandards(t *testing.T) {
	s := bench(t)
	for _, c := range []struct {
		text string
		kind parts.Type
		hz   []float64
	}{
		{"4700u", "", []float64{100, 120}},                     // IEC 60384-1
		{"100n", parts.Polypropylene, []float64{1000, 10e3}},   // IEC 60384-16
		{"10u", parts.CeramicClass2, []float64{1e3, 100, 120}}, // IEC 60384-9; practice
		{"4k7", "", []float64{1000}},                           // common practice
	} {
		for _, choice := range mustPlan(t, s, Wish{Part: expected(t, c.text, c.kind)}).Choices {
			ok := choice.FreqHz == 10e3 && c.kind == parts.CeramicClass2 // IEC 60384-1, up to 10 µF
			for _, hz := range c.hz {
				ok = ok || choice.FreqHz == hz
			}
			if !ok && !(c.text == "4700u" && choice.FreqHz <= 60) && !(c.kind == parts.Polypropylene && choice.FreqHz <= 120) {
				t.Errorf("%s: %g Hz", c.text, choice.FreqHz)
			}
		}
	}
	if p := mustPlan(t, s, Wish{Part: expected(t, "4700u", "")}); p.Choices[0].FreqHz != 120 {
		t.Errorf("with mains of 50 Hz an electrolytic is read at %g Hz", p.Choices[0].FreqHz)
	}
}

// The record becomes as long as the wish needs, and no longer.
func TestPlanMeetsAWish(t *testing.T) {
	s := bench(t)
	w := Wish{Part: expected(t, "1", ""), FreqsHz: []float64{997}, Want: 0.003}
	s.Card.NoiseRMS = [2]float64{1e-4, 1e-4}
	best := mustPlan(t, s, w).Choices[0]
	if !best.Reached || best.Half > w.Want || best.Seconds <= 1 {
		t.Fatalf("%+v", best)
	}
	short := *s
	short.Card.Seconds = best.Seconds / growth
	if c, err := short.try(w, 997); err != nil || c.Reached {
		t.Errorf("half the record would do: %v", err)
	}
	w.Want = 1e-6
	if c := mustPlan(t, s, w).Choices[0]; c.Reached || c.Seconds > longest {
		t.Errorf("a part in a million is not to be had: %+v", c)
	}
}

// Without a wish the plan says which record makes noise the smaller matter.
func TestLongerRecord(t *testing.T) {
	s := bench(t)
	s.Card.NoiseRMS = [2]float64{5e-5, 5e-5}
	p := mustPlan(t, s, Wish{Part: expected(t, "1", ""), FreqsHz: []float64{997}})
	if p.Longer == nil || !(p.Longer.Half < p.Choices[0].Half) || p.Longer.Seconds <= 1 {
		t.Fatalf("%+v", p.Longer)
	}
	s.Card.NoiseRMS = [2]float64{1e-7, 1e-7}
	if p := mustPlan(t, s, Wish{Part: expected(t, "1k", ""), FreqsHz: []float64{997}}); p.Longer != nil {
		t.Errorf("noise does not matter: %+v", p.Longer)
	}
}

// The level is that of the standard where the card has it, and below junctions in
// circuit.
func TestAim(t *testing.T) {
	s := bench(t, `full_scale = "4V"`)
	w := Wish{Part: expected(t, "100n", parts.CeramicClass2), FreqsHz: []float64{1000}}
	c := mustPlan(t, s, w).Choices[0]
	if v := c.Corrected.Level.VoltRMS; !c.Level.Within || v < 0.8*(1-1e-6) || v > 1.2 { // IEC 60384-9: 1.0 V ± 0.2 V
		t.Errorf("%g V, %+v", v, c.Level)
	}
	w.InCircuit = true
	c = mustPlan(t, s, w).Choices[0]
	if v := c.Corrected.Level.VoltRMS; v > junctionV/math.Sqrt2*(1+1e-6) || len(c.Warnings(w)) != 2 {
		t.Errorf("%g V in circuit, %q", v, c.Warnings(w))
	}
	s = bench(t, `full_scale = "0.2V"`)
	w.InCircuit = false
	if c = mustPlan(t, s, w).Choices[0]; c.Level.Within || c.Peak > loudest*(1+1e-9) || c.Peak < 0.8 {
		t.Errorf("a card of 0.2 V: peak %g, %+v", c.Peak, c.Level)
	}
	if c = mustPlan(t, bench(t), w).Choices[0]; c.Peak != 0.25 || c.Level.Source != "" {
		t.Errorf("without full scale: %+v", c.Level)
	}
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		name, text string
		kind       parts.Type
		hz         float64
		in         bool
		want       string // in one of the warnings; empty for none at all
	}{
		{"film where it belongs", "10n", parts.Polypropylene, 1025, false, ""},
		{"resistor", "4k7", "", 1025, false, "IEC 60115-1 asks for direct current"},
		{"coil below its Q", "100uH", "", 99, false, "Q is about 0.31"}, // ωL/R with L/R of 0.5 ms
		{"coil near resonance", "1", "", 8000, false, ""},
		{"choke near resonance", "9000mH", "", 2025, false, "self-resonance"}, // 7.5 kHz with 50 pF
		{"electrolytic too high", "4700u", "", 1025, false, "100 or 120 Hz"},
		{"electrolytic beyond its own resonance", "4700u", "", 15000, false, "self-resonance"},
		{"electrolytic, without bias", "47u", parts.Aluminium, 123, false, "IEC 60384-4 / -18 measures with a bias of 0.7 V"},
		{"ceramic perhaps", "1u", "", 1025, false, "class-2"},
		{"ceramic surely", "10n", parts.CeramicClass2, 1025, false, "class-2"},
		{"on the mains", "10n", parts.Polypropylene, 1000, false, "multiple 20"},
		{"in circuit, level unknown", "10n", parts.Polypropylene, 1025, true, "0.2 V peak"},
		{"small ceramic", "10p", parts.CeramicClass1, 10e3, false, "1 MHz"},
	} {
		w := Wish{Part: expected(t, c.text, c.kind), FreqsHz: []float64{c.hz}, InCircuit: c.in}
		all := strings.Join(mustPlan(t, bench(t), w).Choices[0].Warnings(w), "\n")
		if c.want == "" && strings.Contains(all, "resonance") || c.want != "" && !strings.Contains(all, c.want) {
			t.Errorf("%s: %q, want %q", c.name, all, c.want)
		}
	}
}

// No resistor is changed for nothing: where others come to nearly the same, it is the one
// in the jig, also where its value was measured.
func TestPlanKeepsTheReference(t *testing.T) {
	s := bench(t, `full_scale = "2V"`)
	s = s.With(1000.43)
	p := mustPlan(t, s, Wish{Part: expected(t, "100n", parts.Polyester), ReferenceOhm: []float64{100, 10e3, 1e3}})
	for _, c := range p.Choices[1:] {
		if c.FreqHz == p.Choices[0].FreqHz && c.Half < p.Choices[0].Half/(1+2*nearly) {
			t.Errorf("%g ohm is better, %g against %g", c.ReferenceOhm, c.Half, p.Choices[0].Half)
		}
	}
	if p.Choices[0].ReferenceOhm != 1e3 {
		t.Errorf("%g ohm is asked for", p.Choices[0].ReferenceOhm)
	}
}

// A frequency that is free to move is no multiple of the mains any more, still stands
// for the standard that means it, and hum counts no longer.
func TestAsideFromTheMains(t *testing.T) {
	s := bench(t)
	s.Card.HumRMS = [2]float64{DefaultHumRMS, DefaultHumRMS}
	w := Wish{Part: expected(t, "R47", "")}
	exact := mustPlan(t, s, w).Choices[0]
	w.Aside = true
	c := mustPlan(t, s, w).Choices[0]
	if _, ok := c.Condition(w.Part); !ok || c.MovedFromHz != 1000 || c.MainsOrder != 0 || exact.MainsOrder != 20 || exact.MovedFromHz != 0 || c.Half > exact.Half/2 {
		t.Errorf("%g Hz for %g, %g; at 1 kHz %g", c.FreqHz, c.MovedFromHz, c.Half, exact.Half)
	}
	w.Part = expected(t, "4700u", "")
	p := mustPlan(t, s, w)
	if p.Wish.FreqsHz[0] != 120 {
		t.Errorf("%v: what moves far comes first", p.Wish.FreqsHz)
	}
	for _, c := range p.Choices {
		if cond, ok := c.Condition(w.Part); !ok || !strings.HasPrefix(cond.Standard, "IEC 60384") {
			t.Errorf("%g Hz for %g: %+v", c.FreqHz, c.MovedFromHz, cond)
		}
		if c.MainsOrder != 0 || c.FreqHz == 120 && c.MovedFromHz != 0 {
			t.Errorf("%g Hz for %g is multiple %d", c.FreqHz, c.MovedFromHz, c.MainsOrder)
		}
	}
}

func TestPartsThatAreNone(t *testing.T) {
	for _, m := range []parts.Marking{{Value: 1}, {Unit: parts.Farad}, {Unit: parts.Ohm, Value: -1}} {
		if _, err := NewPart(m, ""); err == nil {
			t.Errorf("%+v was taken", m)
		}
	}
	if _, err := NewPart(parts.Marking{Unit: parts.Henry, Value: 1}, parts.Aluminium); err == nil {
		t.Error("a coil was taken for an electrolytic")
	}
}

// The loss that is given is the one that a part has at 1 kHz, an electrolytic at 120 Hz.
func TestLoss(t *testing.T) {
	for _, c := range []struct {
		p  Part
		hz float64
	}{
		{Part{Kind: impedance.Capacitor, Value: 1e-7, Type: parts.Polyester, LossD: 0.02}, 1000},
		{Part{Kind: impedance.Capacitor, Value: 1e-4, Type: parts.Aluminium, LossD: 0.02}, 120},
		{Part{Kind: impedance.Inductor, Value: 1e-2, Type: parts.AnyInductor, LossD: 0.02}, 1000},
	} {
		if d := 1 / c.p.q(c.hz); math.Abs(d/0.02-1) > 1e-3 { // the lead's inductance: ω²LC, 4e-6 here
			t.Errorf("%+v: D is %g", c.p, d)
		}
	}
}
