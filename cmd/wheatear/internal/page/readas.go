package page

import (
	"math"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// ReadAs says how a person wants a part to be read, and what is marked on it.
type ReadAs struct {
	As     string `json:"as,omitempty"`     // such as C or Rs; empty for what the part mostly is
	Marked string `json:"marked,omitempty"` // such as 470uF/20%; empty for nothing to judge by
}

// question is what is asked of a reading.
type question struct {
	as       impedance.Element
	expected []parts.Marking
	chosen   *result.Chosen // how the frequency was; nil where it was named
}

func (r ReadAs) question() (q question, err error) {
	if r.As != "" {
		if q.as, err = impedance.ParseElement(r.As); err != nil {
			return q, invalid("read as: %w", err)
		}
	}
	if r.Marked == "" {
		return q, nil
	}
	list, err := parts.Read(r.Marked, parts.None)
	if err != nil {
		return q, invalid("marked as: %w", err)
	}
	q.expected = slices.DeleteFunc(list, func(m parts.Marking) bool { return !m.Tolerance.Given() || m.Value == 0 })
	if len(q.expected) == 0 {
		return q, invalid("marked as: %q has no tolerance to judge by: write it as %s/5%%", r.Marked, r.Marked)
	}
	return q, nil
}

// flags are those of the command that asks the same.
func (r ReadAs) flags() (args []string) {
	if r.As != "" {
		args = append(args, "--as", r.As)
	}
	if r.Marked != "" {
		args = append(args, "--expect", r.Marked)
	}
	return args
}

// VerdictLine is a part against its marking: in words, and as shares of the nominal
// value for drawing. Ends that are not bounded are null.
type VerdictLine struct {
	Outcome string   `json:"outcome"` // pass, fail or undecided
	Text    string   `json:"text"`    // such as: 17 % below the 470 µF marked
	Nominal string   `json:"nominal"`
	Offset  *float64 `json:"offset"` // of the value from the nominal one, relative; null for none
	Low     *float64 `json:"low"`    // of the 95 % interval, likewise
	High    *float64 `json:"high"`
	From    *float64 `json:"from"` // of the tolerance
	To      *float64 `json:"to"`
}

// verdictLine sets the verdict on a reading; nil where there is none.
func verdictLine(set *typeset.Setter, r *result.Reading) *VerdictLine {
	v := r.Verdict
	if v == nil || v.Nominal == nil {
		return nil
	}
	nominal := *v.Nominal
	e := impedance.ElementOf(v.Quantity, impedance.Circuit(v.Circuit))
	out := &VerdictLine{Outcome: string(v.Outcome), Nominal: set.Value(block.Number(nominal, e.Unit(), 4))}
	away := func(x *float64) *float64 {
		if x == nil || math.IsInf(*x, 0) || math.IsNaN(*x) {
			return nil
		}
		share := *x/nominal - 1
		return &share
	}
	out.From, out.To = away(v.Low), away(v.High)
	q := e.In(r.Reading())
	out.Offset, out.Low, out.High = away(&q.Value), away(&q.Low), away(&q.High)
	switch {
	case v.Conformance == nil || out.Offset == nil:
		out.Text = "no " + e.Words() + " to hold against the " + out.Nominal + " marked"
	default:
		share := set.Value(block.Number(math.Abs(*out.Offset), block.Share, 2))
		side := " above"
		if *out.Offset < 0 {
			side = " below"
		}
		out.Text = share + side + " the " + out.Nominal + " marked, " + map[parts.Outcome]string{
			parts.Pass: "within its tolerance", parts.Fail: "outside its tolerance"}[v.Outcome]
		if v.Outcome != parts.Pass && v.Outcome != parts.Fail {
			out.Text += "undetermined: the interval reaches across a limit"
		}
	}
	return out
}
