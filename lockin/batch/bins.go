package batch

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strings"

	"example.org/wheatear/lockin/internal/errkind"

	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/parts"
)

// ErrBins is wrapped by errors about bins that cannot be sorted into.
var ErrBins = errors.New("batch: no bins to sort into")

// Bin is a place for parts with values within its limits.
type Bin struct {
	Name   string
	Limits parts.Limits
}

// Bins are the bins of a run: a list from the innermost or lowest on, or all values of
// a series.
type Bins struct {
	list   []Bin
	series parts.Series
	unit   parts.Unit
	nested bool
}

// Outside is the bin for what fits in none.
const Outside = "outside"

// ParseBins reads bins:
//
//	E24              the nearest value of a series
//	1%,5%,10%        tolerances about the nominal value, the narrowest that holds
//	90n..95n,95n..1u ranges
//
// nominal is needed for tolerances and says what the values are. Errors say which bin
// is not understood.
func ParseBins(text string, nominal float64, unit parts.Unit) (*Bins, error) {
	b := &Bins{unit: unit}
	if s, err := parts.ParseSeries(strings.TrimSpace(text)); err == nil {
		b.series = s
		return b, nil
	}
	for _, word := range strings.Split(text, ",") {
		word = strings.TrimSpace(word)
		low, high, isRange := strings.Cut(word, "..")
		if isRange {
			bin, err := b.span(word, low, high)
			if err != nil {
				return nil, err
			}
			b.list = append(b.list, bin)
			continue
		}
		rel, err := parts.ParseTolerance(word)
		if err != nil || !(rel > 0 && rel < 1) {
			return nil, errkind.Errorf(ErrBins, "batch: %q is no bin: write E24, 1%%,5%%,10%% or 90n..110n", word)
		}
		if !(nominal > 0) {
			return nil, errkind.Errorf(ErrBins, "batch: %s of what? Say which part is expected", word)
		}
		b.nested = true
		b.list = append(b.list, Bin{word, parts.Limits{Low: nominal * (1 - rel), High: nominal * (1 + rel)}})
	}
	return b, b.check()
}

func (b *Bins) span(word, low, high string) (Bin, error) {
	from, err := parts.ParsePositive(low, b.unit)
	if err == nil {
		var to float64
		if to, err = parts.ParsePositive(high, b.unit); err == nil && from < to {
			return Bin{word, parts.Limits{Low: from, High: to}}, nil
		}
	}
	return Bin{}, errkind.Errorf(ErrBins, "batch: %q is no range: write it as 90n..110n, the lower end first", word)
}

// check wants nested bins to widen and ranges to rise.
func (b *Bins) check() error {
	for i := 1; i < len(b.list); i++ {
		a, c := b.list[i-1], b.list[i]
		switch {
		case b.nested && !(c.Limits.High > a.Limits.High && c.Limits.Low < a.Limits.Low):
			return errkind.Errorf(ErrBins, "batch: bin %s does not hold the narrower %s: write tolerances from narrow to wide, without ranges", c.Name, a.Name)
		case !b.nested && c.Limits.Low < a.Limits.High:
			return errkind.Errorf(ErrBins, "batch: bins %s and %s overlap", a.Name, c.Name)
		}
	}
	return nil
}

// Of says in which bin a value with a standard uncertainty most likely belongs, and how
// likely it does.
func (b *Bins) Of(value, u float64) (name string, chance float64) {
	if math.IsNaN(value) || math.IsInf(value, 0) || value <= 0 {
		return Outside, 1
	}
	if b.series != 0 {
		below, above := b.series.Neighbours(value)
		if member, ok := b.series.Member(value); ok {
			below, above = member, member
		}
		member := below
		if value > math.Sqrt(below*above) {
			member = above
		}
		return parts.FormatValue(member, b.unit), probability(value, u, b.around(member))
	}
	best, most := Outside, 0.0
	outside := 1.0
	covered := 0.0
	for _, bin := range b.list {
		p := probability(value, u, bin.Limits)
		own := p
		if b.nested {
			own, covered = p-covered, p
			outside = 1 - p
		} else {
			outside -= p
		}
		if own > most {
			best, most = bin.Name, own
		}
	}
	if outside > most {
		return Outside, outside
	}
	return best, most
}

// Sort puts names of bins into their order: as they were given, or by value for a
// series. What is no bin comes last, such as Outside.
func (b *Bins) Sort(names []string) {
	place := func(name string) float64 {
		if v, err := parts.ParsePositive(name, b.unit); b.series != 0 && err == nil {
			return v
		}
		for i, bin := range b.list {
			if bin.Name == name {
				return float64(i)
			}
		}
		return math.Inf(1)
	}
	slices.SortStableFunc(names, func(x, y string) int { return cmp.Compare(place(x), place(y)) })
}

// around are the ends of the bin of a member: half way to its neighbours, as ratios.
func (b *Bins) around(member float64) parts.Limits {
	below, _ := b.series.Neighbours(member * (1 - 1e-6))
	_, above := b.series.Neighbours(member * (1 + 1e-6))
	return parts.Limits{Low: math.Sqrt(below * member), High: math.Sqrt(above * member)}
}

// probability that a normal quantity lies within limits.
func probability(value, u float64, l parts.Limits) float64 {
	if u <= 0 {
		if value >= l.Low && value <= l.High {
			return 1
		}
		return 0
	}
	n := distuv.Normal{Mu: value, Sigma: u}
	return n.CDF(l.High) - n.CDF(l.Low)
}
