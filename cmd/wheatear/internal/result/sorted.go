package result

import (
	"math"
	"slices"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// SortedSchema is what a Sorted says it is.
const SortedSchema = "wheatear.sort/1"

// Sorted is the schema wheatear.sort/1: a run of parts. Figures of all parts are of those
// that are not left out.
type Sorted struct {
	Schema      string       `json:"schema"`
	Jig         string       `json:"jig"`
	Calibration *string      `json:"calibration"`
	Expected    string       `json:"expected"`
	File        string       `json:"file"` // CSV file of the run
	Parts       []SortedPart `json:"parts"`
	Passed      int          `json:"passed"`
	Failed      int          `json:"failed"`
	Undecided   int          `json:"undecided"`
	Mean        *float64     `json:"mean"`
	MeanU       *float64     `json:"mean_u"` // with what all readings share
	Spread      *float64     `json:"spread"` // standard deviation, without that of measuring
	SpreadU     *float64     `json:"spread_u"`
	Measured    *float64     `json:"spread_measured"`
	Share       *float64     `json:"measurement_share"`
	Outliers    []int        `json:"outliers"` // numbers of the parts that are left out

	// The rest is not in documents of older versions.
	As       string            `json:"as,omitempty"`
	Limits   *Limits           `json:"limits,omitempty"`
	Bins     []Bin             `json:"bins,omitempty"` // in the order of what was asked for
	Findings []finding.Finding `json:"findings,omitempty"`
	RestsOn  *Basis            `json:"rests_on,omitempty"`
}

// SortedPart is one part of a run. Numbers without a main figure are in its unit.
type SortedPart struct {
	Number  int        `json:"number"`
	Name    string     `json:"name"`
	Value   *float64   `json:"value"` // nil of one that has none, or was not read
	U       *float64   `json:"u"`
	Low     *float64   `json:"low"`
	High    *float64   `json:"high"`
	Unit    string     `json:"unit"`
	Verdict string     `json:"verdict"`
	Risk    *float64   `json:"risk"`
	EnoughU *float64   `json:"u_to_decide"`
	Bin     *string    `json:"bin"`
	Chance  *float64   `json:"bin_chance"`
	OwnU    *float64   `json:"u_own,omitempty"`       // what it does not share with the others
	Main    *Main      `json:"main,omitempty"`        // what it is told by; of another kind than expected where value is null
	Rule    batch.Rule `json:"left_out_by,omitempty"` // empty of one that counts
	Time    *time.Time `json:"time,omitempty"`
}

// Bin is how many parts are in a bin.
type Bin struct {
	Name  string `json:"name"`
	Count int    `json:"count"`
}

// OtherKind is why a part does not belong to its run that is no such part at all.
const OtherKind batch.Rule = "of another kind"

// NewSorted is the document of a run. Bins may be nil; text is what was expected, as it
// was asked for.
func NewSorted(m *Measurement, expected parts.Marking, text, file string, bins *batch.Bins, list []run.Part) *Sorted {
	s := &Sorted{Schema: SortedSchema, Jig: m.Jig, Calibration: m.Calibration, Expected: text, File: file, Parts: []SortedPart{}, Outliers: []int{},
		As: m.As, Findings: m.Findings, RestsOn: m.RestsOn}
	limits := expected.Limits()
	s.Limits = &Limits{limits.Low, limits.High}
	var values []batch.Measured
	for i := range list {
		values = append(values, batch.Measured{Value: list[i].Value, OwnU: list[i].OwnU})
		s.add(&list[i], expected.Unit.String())
	}
	s.spread(batch.SpreadOf(values, limits), list)
	s.countBins(bins)
	return s
}

func (s *Sorted) add(p *run.Part, unit string) {
	d := SortedPart{Number: p.Number, Name: p.Name, Value: orNull(p.Value), U: orNull(p.U), Low: orNull(p.Low), High: orNull(p.High), Unit: unit,
		Verdict: p.Verdict, Risk: orNull(p.Risk), EnoughU: orNull(p.EnoughU), Chance: orNull(p.Chance), OwnU: orNull(p.OwnU), Bin: unlessZero(p.Bin), Time: &p.At}
	if (p.As != impedance.Element{}) {
		d.Main = MainOf(p.As, p.Main)
	}
	switch parts.Outcome(p.Verdict) {
	case parts.Pass:
		s.Passed++
	case parts.Fail:
		s.Failed++
	default:
		s.Undecided++
	}
	s.Parts = append(s.Parts, d)
}

// spread enters the figures of all parts.
func (s *Sorted) spread(sp batch.Spread, list []run.Part) {
	shared := 0.0
	for i, k := range sp.Outliers {
		s.Parts[k].Rule = sp.Rules[i]
		if list[k].OfAnotherKind() {
			s.Parts[k].Rule = OtherKind
		}
		s.Outliers = append(s.Outliers, list[k].Number)
	}
	for i, p := range list {
		if s.Parts[i].Rule == "" {
			shared += (p.U*p.U - p.OwnU*p.OwnU) / float64(sp.N)
		}
	}
	meanU := math.Sqrt(sp.TotalSD*sp.TotalSD/float64(sp.N) + shared)
	s.Mean, s.MeanU, s.Spread, s.SpreadU = orNull(sp.Mean), orNull(meanU), orNull(sp.SD), orNull(sp.SDU)
	s.Measured, s.Share = orNull(sp.TotalSD), orNull(sp.Share)
}

// countBins counts the parts of each bin.
func (s *Sorted) countBins(bins *batch.Bins) {
	counts := map[string]int{}
	var names []string
	for _, p := range s.Parts {
		if p.Bin == nil {
			continue
		}
		if counts[*p.Bin]++; counts[*p.Bin] == 1 {
			names = append(names, *p.Bin)
		}
	}
	if bins != nil {
		bins.Sort(names)
	} else {
		slices.Sort(names)
	}
	s.Bins = nil
	for _, n := range names {
		s.Bins = append(s.Bins, Bin{n, counts[n]})
	}
}

// choose completes a document of an older version.
func (s *Sorted) choose() {
	if s.Bins == nil {
		s.countBins(nil)
	}
	for i := range s.Parts {
		if p := &s.Parts[i]; p.Rule == "" && slices.Contains(s.Outliers, p.Number) {
			p.Rule = batch.Far
			if p.Value == nil {
				p.Rule = batch.Unread
			}
		}
	}
}

// Counting is how many parts are not left out.
func (s *Sorted) Counting() int { return len(s.Parts) - len(s.Outliers) }

// Unit is that of the values.
func (s *Sorted) Unit() string {
	if len(s.Parts) == 0 {
		return ""
	}
	return s.Parts[0].Unit
}

// Unread is how many parts could not be read.
func (s *Sorted) Unread() (n int) {
	for i := range s.Parts {
		if s.Parts[i].Unread() {
			n++
		}
	}
	return n
}

// Unread reports whether a part could not be read, which leaves it undecided.
func (p *SortedPart) Unread() bool {
	return p.Value == nil && p.Verdict == string(parts.Undecided)
}

// What is what a part is told by, and its unit: the value of those of the run, or what it
// is instead.
func (p *SortedPart) What() (impedance.Element, uncertain.Quantity, string) {
	if p.Main != nil {
		e, q := p.Main.What()
		return e, q, e.Unit()
	}
	e := impedance.ElementIn(p.Unit)
	return e, (&Main{Value: p.Value, U: p.U, Low: p.Low, High: p.High}).quantity(), p.Unit
}

// Histogram is how many parts have which value, in columns of equal width, from low on.
type Histogram struct {
	Low, Width float64
	Counts     []int
}

// Middle is that of a column.
func (h *Histogram) Middle(k int) float64 { return h.Low + (float64(k)+0.5)*h.Width }

// Histogram sorts the parts that count into columns, no finer than parts can be told
// apart; nil where no part counts.
func (s *Sorted) Histogram() *Histogram {
	low, high, own := math.Inf(1), math.Inf(-1), 0.0
	var values []float64
	for _, p := range s.Parts {
		if p.Rule == "" && p.Value != nil {
			values = append(values, *p.Value)
			low, high = math.Min(low, *p.Value), math.Max(high, *p.Value)
			if p.OwnU != nil {
				own = math.Max(own, *p.OwnU)
			}
		}
	}
	if len(values) == 0 {
		return nil
	}
	n := max(3, min(12, int(math.Sqrt(float64(len(values))))+2))
	width := (high - low) / float64(n)
	if least := math.Max(own, 1e-4*math.Abs(low)); width < least {
		n = max(1, int(math.Ceil((high-low)/least-1e-9)))
		low, width = (low+high-float64(n)*least)/2, least
	}
	h := &Histogram{Low: low, Width: width, Counts: make([]int, n)}
	for _, v := range values {
		h.Counts[min(n-1, int((v-low)/width))]++
	}
	return h
}
