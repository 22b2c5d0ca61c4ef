package predict

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// logUniform draws a number of any size between two.
func logUniform(t *rapid.T, low, high float64, name string) float64 {
	return low * math.Pow(high/low, rapid.Float64Range(0, 1).Draw(t, name))
}

// Whatever the part, the card and the drawer: every pair of reference and frequency is
// a choice or refused with a reason, the shares of a budget add up to one, and the same
// question has the same answer.
func TestPlansOfAnything(t *testing.T) {
	kinds := map[impedance.Kind]parts.Type{impedance.Resistor: parts.AnyResistor, impedance.Capacitor: parts.AnyCapacitor, impedance.Inductor: parts.AnyInductor}
	rapid.Check(t, func(t *rapid.T) {
		s := bench(t)
		s.Card = Card{RateHz: rapid.SampledFrom([]float64{8000, 48000, 192000}).Draw(t, "rate"), Seconds: logUniform(t, 0.02, 10, "seconds"),
			Peak: logUniform(t, 1e-4, 1, "peak"), SourceOhm: rapid.Float64Range(0, 1e4).Draw(t, "source")}
		for i := range 2 {
			s.Card.NoiseRMS[i] = rapid.SampledFrom([]float64{0, 1e-7, 1e-5, 1e-2}).Draw(t, "noise")
			s.Card.HumRMS[i] = rapid.SampledFrom([]float64{0, 1e-5, 0.1}).Draw(t, "hum")
		}
		kind := rapid.SampledFrom([]impedance.Kind{impedance.Resistor, impedance.Capacitor, impedance.Inductor}).Draw(t, "kind")
		w := Wish{Part: Part{Kind: kind, Type: kinds[kind], Value: logUniform(t, 1e-13, 1e9, "value")},
			ReferenceOhm: []float64{logUniform(t, 0.1, 1e7, "reference")}, FreqsHz: []float64{logUniform(t, 1, 1e5, "frequency")},
			InCircuit: rapid.Bool().Draw(t, "in circuit")}
		first, err := s.Plan(w)
		if err != nil {
			t.Fatal(err)
		}
		if len(first.Choices)+len(first.Refused) != 1 {
			t.Fatalf("%+v", first)
		}
		if len(first.Choices) == 0 {
			return
		}
		c := first.Choices[0]
		sum := 0.0
		for _, l := range c.Limits {
			sum += l.Share
		}
		if !(c.Half > 0) || c.Peak > 1 || len(c.Limits) > 0 && math.Abs(sum-1) > 1e-9 {
			t.Fatalf("half width %g, peak %g, shares of %g", c.Half, c.Peak, sum)
		}
		c.Warnings(w)
		again, err := s.Plan(w)
		if err != nil || again.Choices[0].Half != c.Half {
			t.Fatalf("first %g, then %g, %v", c.Half, again.Choices[0].Half, err)
		}
	})
}
