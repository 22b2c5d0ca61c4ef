package plot

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// tick is a place on an axis. One without text is minor.
type tick struct {
	value float64
	text  string
}

// How many labels an axis of a drawing has room for: values go up the side, where
// panels are low; frequencies go along the bottom, over decades.
const mostEven, mostDecades = 7, 10

// ticks chooses the places to be marked, with the unit in every text. The page draws
// its axes by the same rules, in web/ticks.js; testdata/ticks.json holds both to them.
func (a axis) ticks(unit string) []tick {
	most := mostEven
	if a.log && a.high/a.low >= 10 {
		most = mostDecades
	}
	labels, minor, in := a.places(most, unit)
	out := make([]tick, 0, len(labels)+len(minor))
	for _, l := range labels {
		if in != "" {
			l.text += " " + in
		}
		out = append(out, l)
	}
	for _, v := range minor {
		out = append(out, tick{value: v})
	}
	slices.SortFunc(out, func(a, b tick) int { return int(math.Copysign(1, a.value-b.value)) })
	return out
}

// places are the labelled and the minor ticks. There are at least three labels and,
// where that allows it, at most as many as there is room for. unit is what the labels
// lack: on logarithmic axes each has its own prefix.
func (a axis) places(most int, unit string) (labels []tick, minor []float64, in string) {
	if a.log && a.high/a.low >= 10 {
		labels, minor = a.decades(most, unit)
		return labels, minor, ""
	}
	return a.even(most, unit)
}

// choose takes the densest of sets that fits, or else thins the sparsest that has
// three, as far as three are left.
func choose[T any](sets [][]T, most int) []T {
	var last []T
	for _, s := range sets {
		if len(s) < 3 {
			continue
		}
		if last = s; len(s) <= most {
			return s
		}
	}
	up := func(n, by int) int { return (n + by - 1) / by }
	every := 1
	for up(len(last), every) > most && up(len(last), every+1) >= 3 {
		every++
	}
	var out []T
	for i := 0; i < len(last); i += every {
		out = append(out, last[i])
	}
	return out
}

// stepped is a whole number of steps.
type stepped struct{ n, step float64 }

func multiples(low, high, step float64) (out []stepped) {
	const slack = 1e-9
	for n := math.Ceil(low/step - slack); n <= high/step+slack && len(out) < 500; n++ {
		out = append(out, stepped{n, step})
	}
	return out
}

func (a axis) even(most int, unit string) (labels []tick, minor []float64, in string) {
	var sets [][]stepped
	for _, step := range ladder(a.high-a.low, unit) {
		if s := multiples(a.low, a.high, step); len(s) < 400 {
			sets = append(sets, s)
		}
	}
	chosen := choose(sets, most)
	step := chosen[0].step
	exponent := engineering(math.Max(math.Abs(a.low), math.Abs(a.high)), unit)
	decimals := max(0, exponent-int(math.Floor(math.Log10(step)+1e-9)))
	degree := ""
	if unit == "°" {
		degree = unit
	}
	for _, c := range chosen {
		text := strconv.FormatFloat(c.n*c.step/math.Pow(10, float64(exponent)), 'f', decimals, 64)
		if strings.Trim(text, "-0.") == "" {
			text = strings.TrimPrefix(text, "-")
		}
		labels = append(labels, tick{c.n * c.step, strings.Replace(text, "-", "−", 1) + degree})
	}
	for _, by := range []float64{5, 2} {
		if parts := multiples(a.low, a.high, step/by); len(parts) <= 120 {
			for _, p := range parts {
				if math.Mod(p.n, by) != 0 {
					minor = append(minor, p.n*p.step)
				}
			}
			break
		}
	}
	if degree != "" {
		return labels, minor, ""
	}
	return labels, minor, prefixed(exponent, unit)
}

// ladder of steps from fine to coarse: 1, 2, 5; parts of a circle for angles.
func ladder(span float64, unit string) (out []float64) {
	first := int(math.Floor(math.Log10(span))) - 2
	circle := unit == "°" && span >= 15 && span <= 360
	for e := first; e <= first+3; e++ {
		for _, m := range []float64{1, 2, 5} {
			if s := m * math.Pow(10, float64(e)); !circle || s <= 10 {
				out = append(out, s)
			}
		}
	}
	if circle {
		out = append(out, 15, 30, 45, 90)
	}
	return out
}

// decades marks 1, 2 and 5 times powers of ten, or only some of the powers.
func (a axis) decades(most int, unit string) (labels []tick, minor []float64) {
	type place struct {
		value float64
		m, e  int
	}
	var all, fives, powers []place
	for e := int(math.Floor(math.Log10(a.low))); e <= int(math.Ceil(math.Log10(a.high))); e++ {
		for m := 1; m <= 9; m++ {
			v, err := strconv.ParseFloat(strconv.Itoa(m)+"e"+strconv.Itoa(e), 64)
			if err != nil || v < a.low*(1-1e-9) || v > a.high*(1+1e-9) {
				continue
			}
			p := place{v, m, e}
			all = append(all, p)
			if m == 1 || m == 2 || m == 5 {
				fives = append(fives, p)
			}
			if m == 1 {
				powers = append(powers, p)
			}
		}
	}
	sets := [][]place{fives, powers}
	for every := 2; every < 40; every++ {
		var best []place
		for phase := range every {
			var s []place
			for _, p := range powers {
				if ((p.e-phase)%every+every)%every == 0 {
					s = append(s, p)
				}
			}
			if len(s) > len(best) {
				best = s
			}
		}
		sets = append(sets, best)
	}
	chosen := choose(sets, most)
	for _, p := range chosen {
		labels = append(labels, tick{p.value, short(p.value, unit)})
	}
	if len(all) > 120 {
		all = powers
	}
	for _, p := range all {
		if !slices.Contains(chosen, p) {
			minor = append(minor, p.value)
		}
	}
	return labels, minor
}

// short writes 1, 2, 5 times a power of ten with its unit.
func short(v float64, unit string) string {
	if unit == "" {
		if v >= 1e-3 && v < 1e6 {
			return strconv.FormatFloat(v, 'f', -1, 64)
		}
		text := strings.Replace(strconv.FormatFloat(v, 'e', 0, 64), "-0", "-", 1)
		return strings.NewReplacer("-", "−", "+0", "", "+", "").Replace(text)
	}
	exponent := engineering(v, unit)
	text := strconv.FormatFloat(v/math.Pow(10, float64(exponent)), 'g', 3, 64)
	if number, err := strconv.ParseFloat(text, 64); err == nil {
		text = strconv.FormatFloat(number, 'f', -1, 64)
	}
	if unit == "°" {
		return text + unit
	}
	return text + " " + prefixed(exponent, unit)
}

// prefixes from f to T, three decades apart.
var prefixes = []string{"f", "p", "n", "µ", "m", "", "k", "M", "G", "T"}

const leastPrefix = -15

// engineering is the power of ten of the prefix for a value; some units take none.
func engineering(v float64, unit string) int {
	if slices.Contains([]string{"", "°", "%", "dB", "dBFS", "ppm", "u"}, unit) || !(v > 0) {
		return 0
	}
	e := 3 * int(math.Floor(math.Log10(v)/3+1e-9))
	return min(max(e, leastPrefix), leastPrefix+3*(len(prefixes)-1))
}

func prefixed(exponent int, unit string) string {
	return prefixes[(exponent-leastPrefix)/3] + unit
}
