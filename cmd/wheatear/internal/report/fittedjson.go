package report

import (
	"fmt"
	"io"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

func modulusOf(r impedance.Reading) uncertain.Quantity { return r.Modulus }
func phaseOf(r impedance.Reading) uncertain.Quantity   { return degrees(r.Phase) }
func degreesOf(z complex128) float64                   { return cmplx.Phase(z) * 180 / math.Pi }

// fitDoc is the schema wheatear.fit/1.
type fitDoc struct {
	Schema   string          `json:"schema"`
	Choice   circuit.Verdict `json:"choice"`
	Words    string          `json:"words"`
	Allowed  float64         `json:"allowance"`
	Circuits []circuitDoc    `json:"circuits"`
	sweptDoc
}

// circuitDoc is a fitted circuit.
type circuitDoc struct {
	Circuit     string            `json:"circuit"`
	Name        string            `json:"name"`
	Unknowns    []unknownDoc      `json:"unknowns"`
	Correlation [][]float64       `json:"correlation"`
	ChiSquare   *float64          `json:"chi_square"`
	Dof         int               `json:"dof"`
	Probability *float64          `json:"probability"`
	Agreement   circuit.Agreement `json:"agreement"`
	Delta       *float64          `json:"delta"`
	Rival       bool              `json:"rival"`
	Rms         *float64          `json:"rms"`
	Residuals   []residualDoc     `json:"residuals"`
	Notes       []fitNoteDoc      `json:"notes"`
}

type unknownDoc struct {
	Name     string              `json:"name"`
	Unit     string              `json:"unit"`
	State    circuit.State       `json:"state"`
	Value    *uncertain.Quantity `json:"value"`
	Estimate *float64            `json:"estimate"`
}

type residualDoc struct {
	FreqHz float64 `json:"frequency_hz"`
	Re     float64 `json:"re_ohm"`
	Im     float64 `json:"im_ohm"`
}

type fitNoteDoc struct {
	Code   string   `json:"code"`
	Names  []string `json:"names"`
	Detail string   `json:"detail"`
	Advice string   `json:"advice"`
}

// FittedJSON writes it for programs.
func FittedJSON(w io.Writer, f *Fitted) error {
	doc := fitDoc{Schema: "wheatear.fit/1", Choice: f.Choice.Verdict, Words: f.Choice.Words, Allowed: f.Allowance, Circuits: []circuitDoc{}, sweptDoc: f.sweptDoc(f.Consistency)}
	for i := range f.Choice.Fits {
		doc.Circuits = append(doc.Circuits, circuitDocOf(&f.Choice.Fits[i]))
	}
	return writeJSON(w, doc)
}

func circuitDocOf(r *circuit.Ranked) circuitDoc {
	c := circuitDoc{Circuit: r.Result.Circuit.String(), Name: r.Name, Unknowns: []unknownDoc{}, Correlation: [][]float64{},
		ChiSquare: orNull(r.ChiSquare), Dof: r.Dof, Probability: orNull(r.Probability), Agreement: r.Agreement,
		Delta: orNull(r.Delta), Rival: r.Rival, Rms: orNull(r.RelativeRms()), Residuals: []residualDoc{}, Notes: []fitNoteDoc{}}
	for i, p := range r.Parameters {
		u := unknownDoc{Name: p.Name, Unit: p.Unit, State: p.State, Estimate: orNull(p.Estimate)}
		if p.State != circuit.Undetermined && known(p.Quantity) {
			u.Value = &p.Quantity
		}
		c.Unknowns = append(c.Unknowns, u)
		c.Correlation = append(c.Correlation, rowOf(r, i))
	}
	for _, e := range r.Residuals {
		c.Residuals = append(c.Residuals, residualDoc{e.FreqHz, real(e.Z), imag(e.Z)})
	}
	for _, n := range r.Notes {
		c.Notes = append(c.Notes, fitNoteDoc{n.Code, listed(n.Names), n.Detail, n.Advice})
	}
	return c
}

// rowOf is a row of the correlations; what is not determined correlates with nothing.
func rowOf(r *circuit.Ranked, i int) []float64 {
	row := make([]float64, len(r.Parameters))
	for j := range row {
		if c := r.Correlation.At(i, j); c >= -1 && c <= 1 {
			row[j] = c
		}
	}
	return row
}

// FittedSpice writes the best circuit as a subcircuit, with what is known of it.
func FittedSpice(w io.Writer, f *Fitted, name string) error {
	low, high := math.Inf(1), 0.0
	for _, hz := range f.Data.FreqHz {
		low, high = min(low, hz), max(high, hz)
	}
	best := f.Best()
	sub, err := best.Fitted().Spice(name, low, high)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "* %s\n* %s\n* circuit %s\n", oneLine(f.title()), oneLine(f.note()), best.Result.Circuit)
	for _, p := range best.Parameters {
		fmt.Fprintf(w, "* %s %s\n", p.Name, parameter(p))
	}
	fmt.Fprintf(w, "* fitted from %s to %s within %s rms\n", place(low), place(high), percentOf(best.RelativeRms()))
	if sub.Exact {
		fmt.Fprintln(w, "* lumped elements: the circuit itself, at all frequencies")
	} else {
		const printed = 1e-6 // simulators print no more
		fmt.Fprintf(w, "* ladders stand for elements that are not lumped: from %s to %s within %s of |Z|\n", place(sub.LowHz), place(sub.HighHz), percentOf(math.Max(sub.Error, printed)))
	}
	_, err = io.WriteString(w, sub.Text)
	return err
}

// oneLine keeps a comment a comment.
func oneLine(text string) string {
	out := []rune(text)
	for i, r := range out {
		if r < ' ' {
			out[i] = ' '
		}
	}
	return string(out)
}
