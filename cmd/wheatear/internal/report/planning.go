package report

import (
	"math"
	"math/cmplx"
	"slices"
	"strconv"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/spectrum"
)

// Planning is what plan has to tell.
type Planning struct {
	Jig   *fixture.Jig
	Text  string // the part as it was asked for
	Setup *predict.Setup
	Plan  *predict.Plan
	Reach bool // with what the jig can read
}

// Document is the plan as it is printed, kept and told.
func (p *Planning) Document() (*result.Plan, error) {
	words := tell.Planned{Jig: p.Jig, Setup: p.Setup, Plan: p.Plan}
	doc := &result.Plan{Schema: result.PlanSchema, Part: p.Text, Jig: p.Jig.Name, Choices: []result.Choice{}, Meant: words.Meant(),
		ReferenceOhm: p.Jig.ReferenceOhm, Assumed: words.Assumed(), Remedies: []result.Remedy{}}
	if p.Plan.Wish.Want > 0 {
		doc.Wanted = &p.Plan.Wish.Want
	}
	if l := p.Plan.Longer; l != nil {
		doc.Longer = &result.Longer{Seconds: l.Seconds, HalfWidth: l.Half}
	}
	for _, c := range p.Plan.Choices {
		doc.Choices = append(doc.Choices, p.choice(c, words))
	}
	for _, r := range p.Setup.Remedies(p.Plan) {
		doc.Remedies = append(doc.Remedies, result.Remedy{Change: r.Change, HalfWidth: orNull(r.Choice.Half), Reached: r.Choice.Reached, Words: words.Remedy(r)})
	}
	var err error
	if p.Reach {
		doc.Reach, err = p.reach()
	}
	return doc, err
}

func (p *Planning) choice(c predict.Choice, words tell.Planned) result.Choice {
	d := result.Choice{ReferenceOhm: c.ReferenceOhm, FreqHz: c.FreqHz, PeakDBFS: spectrum.AmplitudeDB(c.Peak), Seconds: c.Seconds, HalfWidth: orNull(c.Half), Reached: c.Reached,
		Limits: []result.PlanLimit{}, Warnings: listed(c.Warnings(p.Plan.Wish)),
		Level: result.Level{PartVRMS: orNull(c.Corrected.Level.VoltRMS), PartARMS: orNull(c.Corrected.Level.AmpereRMS)}, At: asked(c), LevelAsked: played(c), Changes: words.Changes(c), Words: words.Words(c)}
	if circuit := c.Corrected.Reading.Fitting.Circuit; circuit != "" {
		d.Circuit = &circuit
	}
	if cond, ok := c.Condition(p.Plan.Wish.Part); ok && cond.Standard != "none" {
		d.Standard = &cond.Standard
	}
	for _, l := range c.Limits {
		d.Limits = append(d.Limits, result.PlanLimit{Source: result.Source{Source: l.Label, U: l.U, Share: l.Share}, Why: tell.Why(l.Label)})
	}
	return d
}

// mostReaches is of how many references the document has the reach.
const mostReaches = 10

// reach is what the jig can read over frequency, with the references that serve best.
func (p *Planning) reach() (*result.Reach, error) {
	const points, leastOhm, mostOhm = 11, 1e-2, 1e7
	lowHz, highHz := 20.0, math.Min(20e3, 0.4*p.Setup.Card.RateHz)
	doc := &result.Reach{References: []result.ReachOf{}}
	if part := p.Plan.Wish.Part; part.Value > 0 {
		for i := range 90 {
			hz := lowHz * math.Pow(highHz/lowHz, float64(i)/89)
			doc.Part.FreqsHz, doc.Part.Modulus = append(doc.Part.FreqsHz, hz), append(doc.Part.Modulus, cmplx.Abs(part.Impedance(hz)))
		}
	}
	for _, ohm := range p.drawn(mostReaches) {
		m, err := p.Setup.With(ohm).NewMap(lowHz, highHz, points, leastOhm, mostOhm, 2*points+1)
		if err != nil {
			return nil, err
		}
		d := result.ReachOf{ReferenceOhm: ohm, FreqsHz: m.FreqsHz}
		for _, half := range []float64{0.1, 0.01, 0.001} {
			low, high := m.Reach(half)
			d.Within = append(d.Within, result.Within{HalfWidth: half, Low: nulls(low), High: nulls(high)})
		}
		doc.References = append(doc.References, d)
	}
	return doc, nil
}

// drawn are the references that serve the part best, lowest first.
func (p *Planning) drawn(most int) []float64 {
	var out []float64
	for _, c := range p.Plan.Choices {
		if len(out) < most && !slices.Contains(out, c.ReferenceOhm) {
			out = append(out, c.ReferenceOhm)
		}
	}
	if len(p.Plan.Choices) == 0 {
		out = append(out, p.Jig.ReferenceOhm)
	}
	slices.Sort(out)
	return out
}

// Reach is the same of a jig without a part, with its own reference.
func Reach(jig *fixture.Jig, setup *predict.Setup) (*plot.Chart, error) {
	r, err := (&Planning{Jig: jig, Setup: setup, Plan: &predict.Plan{}}).reach()
	if err != nil {
		return nil, err
	}
	return tell.Reach(jig.Name, r), nil
}

func nulls(values []float64) []*float64 {
	out := make([]*float64, len(values))
	for i, v := range values {
		out[i] = orNull(v)
	}
	return out
}

// asked is a frequency as it would be asked for.
func asked(c predict.Choice) string {
	if c.MovedFromHz != 0 {
		return "~" + strconv.FormatFloat(c.MovedFromHz, 'g', 10, 64)
	}
	return strconv.FormatFloat(c.FreqHz, 'g', 10, 64)
}

// played is a level as it would be asked for.
func played(c predict.Choice) string {
	return strconv.FormatFloat(math.Round(200*math.Log10(c.Peak))/10, 'f', -1, 64) + "dBFS"
}
