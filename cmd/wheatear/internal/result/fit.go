package result

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/uncertain"
)

// FitSchema is what a Fit says it is.
const FitSchema = "wheatear.fit/1"

// Fit is the schema wheatear.fit/1: one circuit or several, fitted to a sweep.
type Fit struct {
	Schema   string          `json:"schema"`
	Choice   circuit.Verdict `json:"choice"`
	Words    string          `json:"words"`
	Allowed  float64         `json:"allowance"` // of |Z| at each point for what circuits lack; 0 for none
	Circuits []Circuit       `json:"circuits"`  // best first
	Swept
}

// Circuit is a fitted circuit.
type Circuit struct {
	Circuit     string            `json:"circuit"`
	Name        string            `json:"name"`
	Unknowns    []Unknown         `json:"unknowns"`
	Correlation [][]float64       `json:"correlation"`
	ChiSquare   *float64          `json:"chi_square"`
	Dof         int               `json:"dof"`
	Probability *float64          `json:"probability"`
	Agreement   circuit.Agreement `json:"agreement"`
	Delta       *float64          `json:"delta"` // of Akaike's criterion, from the best
	Rival       bool              `json:"rival"` // the sweep cannot tell it from the best
	Rms         *float64          `json:"rms"`   // of the residuals, relative
	Residuals   []Residual        `json:"residuals"`
	Notes       []FitNote         `json:"notes"`
}

// Unknown is one value of a circuit.
type Unknown struct {
	Name     string              `json:"name"`
	Unit     string              `json:"unit"`
	State    circuit.State       `json:"state"`
	Value    *uncertain.Quantity `json:"value"`
	Estimate *float64            `json:"estimate"`
}

// Residual is what a fit leaves of a point.
type Residual struct {
	FreqHz float64 `json:"frequency_hz"`
	Re     float64 `json:"re_ohm"`
	Im     float64 `json:"im_ohm"`
}

// FitNote is what a fit shows and a person must know.
type FitNote struct {
	Code   string   `json:"code"`
	Names  []string `json:"names"`
	Detail string   `json:"detail"`
	Advice string   `json:"advice"`
}

// NewFit is the document of a choice between circuits.
func NewFit(sweep Swept, c *circuit.Choice, allowed float64) *Fit {
	doc := &Fit{Schema: FitSchema, Choice: c.Verdict, Words: c.Words, Allowed: allowed, Circuits: []Circuit{}, Swept: sweep}
	for i := range c.Fits {
		doc.Circuits = append(doc.Circuits, newCircuit(&c.Fits[i]))
	}
	return doc
}

func newCircuit(r *circuit.Ranked) Circuit {
	c := Circuit{Circuit: r.Result.Circuit.String(), Name: r.Name, Unknowns: []Unknown{}, Correlation: [][]float64{},
		ChiSquare: orNull(r.ChiSquare), Dof: r.Dof, Probability: orNull(r.Probability), Agreement: r.Agreement,
		Delta: orNull(r.Delta), Rival: r.Rival, Rms: orNull(r.RelativeRms()), Residuals: []Residual{}, Notes: []FitNote{}}
	for i, p := range r.Parameters {
		u := Unknown{Name: p.Name, Unit: p.Unit, State: p.State, Estimate: orNull(p.Estimate)}
		if p.State != circuit.Undetermined && !p.IsAbsent() {
			u.Value = &p.Quantity
		}
		c.Unknowns = append(c.Unknowns, u)
		row := make([]float64, len(r.Parameters)) // what is not determined correlates with nothing
		for j := range row {
			if v := r.Correlation.At(i, j); v >= -1 && v <= 1 {
				row[j] = v
			}
		}
		c.Correlation = append(c.Correlation, row)
	}
	for _, e := range r.Residuals {
		c.Residuals = append(c.Residuals, Residual{e.FreqHz, real(e.Z), imag(e.Z)})
	}
	for _, n := range r.Notes {
		c.Notes = append(c.Notes, FitNote{n.Code, listed(n.Names), n.Detail, n.Advice})
	}
	return c
}

// Result is the inverse of the document: what the library found, as far as the document
// has it.
func (c *Circuit) Result() (*circuit.Result, error) {
	parsed, err := circuit.Parse(c.Circuit)
	if err != nil {
		return nil, err
	}
	unknowns := parsed.Unknowns()
	n := len(unknowns)
	if n != len(c.Unknowns) {
		return nil, fmt.Errorf("result: %d values for %d unknowns of %s", len(c.Unknowns), n, c.Circuit)
	}
	r := &circuit.Result{Circuit: parsed, ChiSquare: orNaN(c.ChiSquare), Dof: c.Dof, Probability: orNaN(c.Probability), Agreement: c.Agreement, Scale: 1}
	if c.Probability == nil || c.Agreement == circuit.Disagrees {
		r.Scale = math.NaN() // any but 1: taken from the residuals
	}
	for i, u := range c.Unknowns {
		p := circuit.Parameter{Unknown: unknowns[i], State: u.State, Estimate: orNaN(u.Estimate), Quantity: uncertain.Absent()}
		if u.Value != nil {
			p.Quantity = *u.Value
		}
		r.Parameters = append(r.Parameters, p)
	}
	if n > 0 {
		r.Cov, r.Correlation = mat.NewSymDense(n, nil), mat.NewSymDense(n, nil)
	}
	for i, row := range c.Correlation[:min(n, len(c.Correlation))] {
		for j, v := range row[:min(i+1, len(row))] {
			r.Correlation.SetSym(i, j, v)
			if u := r.Parameters[i].U * r.Parameters[j].U; !math.IsNaN(u) && !math.IsInf(u, 0) {
				r.Cov.SetSym(i, j, v*u)
			}
		}
	}
	for _, e := range c.Residuals {
		r.Residuals = append(r.Residuals, circuit.Residual{FreqHz: e.FreqHz, Model: parsed.Impedance(e.FreqHz, r.Values()...), Z: complex(e.Re, e.Im)})
	}
	return r, nil
}
