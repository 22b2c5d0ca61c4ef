package predict

import "testing"

// What no choice reaches is looked for elsewhere; what is offered is predicted, and so
// holds when it is planned by itself.
func TestRemedies(t *testing.T) {
	s := bench(t)
	s.Card.HumRMS = [2]float64{DefaultHumRMS, DefaultHumRMS}
	for _, c := range []struct {
		name, text string
		wish       Wish
		change     Change
		reached    bool
	}{
		{"a reference that is not in the drawer", "1M", Wish{Want: 0.01, ReferenceOhm: []float64{10}}, OtherReference, true},
		{"a load that is known better", "10k", Wish{Want: 0.0005, ReferenceOhm: []float64{10e3}, FreqsHz: []float64{1009}}, BetterLoad, true},
		{"clear of the mains", "4700u", Wish{Want: 0.005, ReferenceOhm: []float64{100}, FreqsHz: []float64{100}}, OtherFrequency, true},
		{"two changes at once", "10k", Wish{Want: 0.0003, ReferenceOhm: []float64{100}, FreqsHz: []float64{1009}}, AllOfThem, true},
		{"nothing is enough", "0.05", Wish{Want: 1e-6, ReferenceOhm: []float64{100e3}, FreqsHz: []float64{1009}}, OtherReference, false},
	} {
		c.wish.Part = expected(t, c.text, "")
		p := mustPlan(t, s, c.wish)
		if p.Choices[0].Reached {
			t.Errorf("%s: it is reached without", c.name)
			continue
		}
		found := false
		for _, r := range s.Remedies(p) {
			if r.Choice.Half > p.Choices[0].Half {
				t.Errorf("%s: %s makes it worse, from %g to %g", c.name, r.Change, p.Choices[0].Half, r.Choice.Half)
			}
			if r.Change != c.change {
				continue
			}
			found = true
			again := *s
			if r.Load != nil {
				again.Load = r.Load
			}
			w := c.wish
			w.ReferenceOhm, w.FreqsHz = []float64{r.Choice.ReferenceOhm}, []float64{r.Choice.FreqHz}
			if best := mustPlan(t, &again, w).Choices[0]; best.Half != r.Choice.Half || best.Reached != c.reached {
				t.Errorf("%s: %g was promised, %g is planned, reached: %v", c.name, r.Choice.Half, best.Half, best.Reached)
			}
		}
		if !found {
			t.Errorf("%s: not among %+v", c.name, s.Remedies(p))
		}
	}
	if r := s.Remedies(mustPlan(t, s, Wish{Part: expected(t, "1k", ""), Want: 0.05})); r != nil {
		t.Errorf("for a wish that is reached: %+v", r)
	}
}
