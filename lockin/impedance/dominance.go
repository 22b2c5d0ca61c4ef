package impedance

import "math"

// Kind says what a part is.
type Kind string

// The kinds of part.
const (
	Undecided Kind = "" // the uncertainty leaves it open
	Capacitor Kind = "capacitor"
	Inductor  Kind = "inductor"
	Resistor  Kind = "resistor"
)

// Dominance says which element of a part outweighs the other, by the 45 degree
// line: |X| ≥ R is a capacitor or an inductor, |X| < R a resistor. By how much is
// said by Q, which is 1 on the line. (First C or L when Q > 1 and R when Q < 1:
// common practice, no source.)
type Dominance struct {
	Kind       Kind    // Undecided where no kind reaches 95 %
	Likeliest  Kind    // the kind with the most of the sample, decided or not
	Confidence float64 // [1] probability of Likeliest, from the sample; NaN where not judged
}

// decided is the probability from which a kind is stated.
const decided = 0.95

// KindOf returns what an exactly known impedance is. The tie |X| = R goes to the
// reactive side, Q = 1 included; an impedance of nothing is a resistor.
func KindOf(z complex128) Kind {
	r, x := math.Abs(real(z)), imag(z)
	switch {
	case math.Abs(x) < r || x == 0 || math.IsNaN(x):
		return Resistor
	case x < 0:
		return Capacitor
	}
	return Inductor
}

// dominance counts the kinds in the sample.
func (c *cloud) dominance() Dominance {
	counts := map[Kind]int{}
	for t, re := range c.columns[outRe] {
		counts[KindOf(complex(re, c.columns[outIm][t]))]++
	}
	var d Dominance
	for _, kind := range []Kind{Capacitor, Inductor, Resistor} {
		if p := float64(counts[kind]) / float64(c.n); p > d.Confidence {
			d.Likeliest, d.Confidence = kind, p
		}
	}
	if d.Confidence >= decided {
		d.Kind = d.Likeliest
	}
	return d
}

// passivity returns the part of the sample in which Re Z is not negative.
func (c *cloud) passivity() float64 {
	count := 0
	for _, re := range c.columns[outRe] {
		if re >= 0 {
			count++
		}
	}
	return float64(count) / float64(c.n)
}
