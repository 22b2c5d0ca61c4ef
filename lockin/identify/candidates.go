package identify

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"example.org/wheatear/lockin/circuit"
)

// Circuits that are tried. Each stands for what the values in it say.
var (
	resistive  = []string{"R", "R + Ls", "R // Cp", "(R + Ls) // Cp"}
	capacitive = []string{"C", "Rs + C", "Rs + C + Ls", "Rp // C", "Rp // (C + Rs)", "Q", "Rs + Q", "Rs + Q + Ls", "Rp // Q", "Rp // (Q + Rs)", "Rs + T", "Rs + T + Ls", "Rs + C // (Ra + Ca)"}
	inductive  = []string{"Rs + L", "Rs + L // Rc", "Rs + E", "Rs + K", "S + L", "Rs + Ll + Rc // Lm"}
	shunted    = []string{"Cp // (Rs + L)", "Cp // (Rs + L // Rc)", "Cp // (Rs + E)", "Cp // (Rs + K)", "Cp // (S + L)", "Cp // (Rs + Ll + Rc // Lm)"}
	inSeries   = []string{"Rs + C + Ls", "Rs + Q + Ls", "Rs + T + Ls", "Rs + L + C // Rp", "Cp // (Rm + Lm + Cm)"}
	damped     = []string{"Rs + L // C // Rp", "Re + Le + Res // Les // Ces", "Re + K + Res // Les // Ces", "Re + Le + L2 // R2 + Res // Les // Ces"}
	mixedRL    = []string{"R1 + L // R2"}
)

// What phase counts as reactive, in terms of Im over |Z|.
const (
	slightly = 0.02 // about one degree
	mostly   = 0.6  // 37 degrees
	reactive = 0.97 // 76 degrees
	seen     = 4.0  // standard uncertainties of what has a sign
)

// candidates are the circuits worth trying, by the phases of the sweep.
func candidates(d *circuit.Data) []circuit.Candidate {
	below, above, most, deepest := 0, 0, 0.0, 0.0
	pattern := "" // of the signs of the reactance, by rising frequency
	for _, i := range rising(d.FreqHz) {
		z := d.Z[i]
		s := imag(z) / cmplx.Abs(z)
		if abs(s) < seen*spread(d, i) { // noise has a sign, too
			s = 0
		}
		deepest = max(deepest, -s)
		pattern = follow(pattern, s)
		if s < -slightly {
			below++
		}
		if s > slightly {
			above++
		}
		most = max(most, abs(s))
	}
	var list []string
	switch {
	case below > 0 && above > 0:
		if strings.HasPrefix(pattern, "-") {
			list = join(list, inSeries)
		}
		if strings.HasPrefix(pattern, "+-") {
			list = join(list, shunted)
		}
		if deepest < reactive {
			list = join(list, damped)
		}
	case below > 0:
		list = join(capacitive)
		if n := len(d.Z); below == n && !falls(d) { // beyond a resonance below the sweep, or one above
			list = join(list, shunted[:2])
		}
	case above > 0:
		list = join(inductive, shunted, mixedRL)
	}
	if most < mostly {
		list = join(resistive, list)
	}
	var out []circuit.Candidate
	for _, text := range list {
		c, err := circuit.Parse(text)
		if err != nil || len(c.Unknowns()) > 2*len(d.Z) {
			continue
		}
		out = append(out, circuit.Candidate{Name: text, Circuit: c, Config: circuit.FitConfig{Tries: 4 * len(c.Unknowns())}})
	}
	return out
}

// quick are the same circuits with little effort for each.
func quick(list []circuit.Candidate) []circuit.Candidate {
	out := slices.Clone(list)
	for i := range out {
		out[i].Config.Tries = 3
	}
	return out
}

// follow adds the sign of a reactance to those before.
func follow(pattern string, s float64) string {
	sign := ""
	switch {
	case s > slightly:
		sign = "+"
	case s < -slightly:
		sign = "-"
	}
	if strings.HasSuffix(pattern, sign) {
		return pattern
	}
	return pattern + sign
}

// rising are the numbers of the points by rising frequency.
func rising(freqHz []float64) []int {
	order := make([]int, len(freqHz))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(freqHz[a], freqHz[b]) })
	return order
}

// chance is how much worse a circuit may look at a first try, by the criterion, and
// yet be fitted with care.
const chance = 100

// choose fits circuits of more and more elements, up to one more than the sweep needs,
// with little effort; those that come near are then fitted with care. soft of |Z| is
// allowed for what circuits cannot describe.
func choose(d *circuit.Data, soft float64) (*circuit.Choice, error) {
	d = d.Softened(soft)
	all := candidates(d)
	var tried []circuit.Ranked
	enough, done := math.MaxInt-1, 0
	for n := 1; done < len(all) && n <= enough+1; n++ {
		group := ofSize(all, n)
		done += len(group)
		first, err := circuit.Choose(quick(group), d)
		if err != nil {
			continue // none of this size, or none that can be fitted
		}
		tried = append(tried, first.Fits...)
		if first.Fits[0].Near(soft) {
			enough = min(enough, n)
		}
	}
	c, err := circuit.Choose(promising(all, tried), d)
	if err == nil {
		simplest(c, soft)
	}
	return c, err
}

// simplest puts the circuit of the fewest unknowns first, of those that come as near as
// the best and that the sweep does not tell from it.
func simplest(c *circuit.Choice, soft float64) {
	best := 0
	for i, f := range c.Fits {
		if f.Near(soft) && f.Delta < likely && len(f.Parameters) < len(c.Fits[best].Parameters) {
			best = i
		}
	}
	f := c.Fits[best]
	c.Fits = slices.Insert(slices.Delete(c.Fits, best, best+1), 0, f)
}

// likely is a difference of Akaike's criterion at which the relative likelihood is 5 %.
const likely = 6.0

// ofSize are the circuits with that many unknowns.
func ofSize(list []circuit.Candidate, n int) []circuit.Candidate {
	var out []circuit.Candidate
	for _, c := range list {
		if len(c.Circuit.Unknowns()) == n {
			out = append(out, c)
		}
	}
	return out
}

// promising are those that came near the best at the first try.
func promising(all []circuit.Candidate, tried []circuit.Ranked) []circuit.Candidate {
	least := math.Inf(1)
	near := map[string]float64{}
	for _, t := range tried {
		least, near[t.Name] = min(least, t.AICc), t.AICc
	}
	var out []circuit.Candidate
	for _, c := range all {
		if a, ok := near[c.Name]; ok && a <= least+chance {
			out = append(out, c)
		}
	}
	return out
}

// falls reports whether |Z| falls from the first to the last point.
func falls(d *circuit.Data) bool {
	return cmplx.Abs(d.Z[0])*d.FreqHz[0] > 0.5*cmplx.Abs(d.Z[len(d.Z)-1])*d.FreqHz[len(d.Z)-1]
}

// join puts lists behind each other, each entry once.
func join(lists ...[]string) []string {
	var out []string
	seen := map[string]bool{}
	for _, list := range lists {
		for _, s := range list {
			if !seen[s] {
				seen[s] = true
				out = append(out, s)
			}
		}
	}
	return out
}
