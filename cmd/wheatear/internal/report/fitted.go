package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/uncertain"
)

// Fitted is what fit has to tell: one circuit or several, fitted to a sweep.
type Fitted struct {
	*Swept
	Choice      *circuit.Choice
	Allowance   float64              // of |Z| at each point for what circuits lack; 0 for none
	Consistency *circuit.Consistency // nil where there are too few points
}

// Best is the circuit that comes first.
func (f *Fitted) Best() *circuit.Ranked { return &f.Choice.Fits[0] }

// WriteFitted writes it for people.
func WriteFitted(w io.Writer, f *Fitted) error {
	var b bytes.Buffer
	f.begin(&b)
	fmt.Fprintln(&b)
	if f.Allowance > 0 {
		Wrap(&b, "", fmt.Sprintf("NO CIRCUIT AGREES with the sweep within the uncertainty of the readings. What follows allows each point %s of |Z| for what a circuit lacks.",
			Tie(percentOf(f.Allowance))))
		fmt.Fprintln(&b)
	}
	if len(f.Choice.Fits) > 1 {
		Wrap(&b, "", upper(f.Choice.Words)+".")
		fmt.Fprintln(&b)
		columns(&b, f.ranking(), padRight)
		fmt.Fprintln(&b)
	}
	for i := range f.Choice.Fits {
		r := &f.Choice.Fits[i]
		if i == 0 || r.Rival {
			writeFit(&b, r)
		}
	}
	Wrap(&b, "", f.verdict())
	return f.finish(w, &b)
}

// ranking lists the circuits that were tried, below the heads.
func (f *Fitted) ranking() [][]string {
	rows := [][]string{{"", "χ² of ν", "criterion", ""}}
	for _, r := range f.Choice.Fits {
		rows = append(rows, []string{r.Name, fmt.Sprintf("%.4g of %d", r.ChiSquare, r.Dof), fmt.Sprintf("+%.1f", r.Delta), standing(r)})
	}
	return rows
}

// standing says in a word what is held against a circuit.
func standing(r circuit.Ranked) string {
	switch {
	case r.Agreement == circuit.Disagrees:
		return "does not agree"
	case r.Delta == 0:
		return "best"
	case r.Rival:
		return "does as well"
	}
	return "worse"
}

// writeFit writes one circuit with its values.
func writeFit(b *bytes.Buffer, r *circuit.Ranked) {
	Wrap(b, "", "Circuit "+notation(r))
	fmt.Fprintln(b)
	rows := [][]string{}
	for _, p := range r.Parameters {
		rows = append(rows, []string{p.Name, parameter(p)})
	}
	columns(b, append([][]string{{"", ""}}, rows...)[1:], padRight)
	fmt.Fprintln(b)
	Wrap(b, "", upper(residuals(r)))
	for _, n := range r.Notes {
		if n.Code != circuit.NoteDisagrees && n.Code != circuit.NoteUndetermined {
			Wrap(b, "- ", upper(n.Detail)+": "+n.Advice+".")
		}
	}
	fmt.Fprintln(b)
}

// notation names a circuit and writes it.
func notation(r *circuit.Ranked) string {
	text := r.Result.Circuit.String()
	if r.Name != text {
		return r.Name + ": " + text
	}
	return text
}

// parameter writes a value with its interval, or the bound that is known.
func parameter(p circuit.Parameter) string {
	switch p.State {
	case circuit.Determined:
		return short(p.Quantity, p.Unit)
	case circuit.AtBound:
		return uncertain.Format(round3(p.Estimate), 0, p.Unit) + ", the end of what is possible"
	case circuit.AtLeast:
		return "at least " + uncertain.Format(round3(p.Low), 0, p.Unit)
	case circuit.AtMost:
		return "at most " + uncertain.Format(round3(p.High), 0, p.Unit)
	}
	return "not determined by this sweep"
}

// residuals says what chi-square means, and how large residuals are.
func residuals(r *circuit.Ranked) string {
	worst, at := 0.0, 0.0
	for _, e := range r.Residuals {
		if a := cabs(e.Z) / cabs(e.Model); a >= worst {
			worst, at = a, e.FreqHz
		}
	}
	return fmt.Sprintf("%s. The residuals are %s of |Z| rms, at most %s, at %s.", strings.TrimSuffix(r.Words(), "."),
		Tie(percentOf(r.RelativeRms())), Tie(percentOf(worst)), Tie(place(at)))
}

// verdict says what the check of the sweep and the fit mean together.
func (f *Fitted) verdict() string {
	if f.Consistency == nil {
		return "Fewer than eight points: whether any circuit can have this sweep was not checked."
	}
	text := "Kramers–Kronig: " + strings.TrimSuffix(f.Consistency.Words(), ".") + "."
	if f.Allowance > 0 {
		return text
	}
	return text + " " + upper(strings.TrimSuffix(f.Consistency.With(f.Best().Result), ".")) + "."
}

// drawnPoints of a curve.
const drawnPoints = 240

// fitCharts are |Z|, phase and residuals over frequency, with a fit.
func fitCharts(s *Swept, r *circuit.Ranked, title string) *plot.Chart {
	low, high := math.Inf(1), 0.0
	for _, hz := range s.Data.FreqHz {
		low, high = min(low, hz), max(high, hz)
	}
	fitted := plot.Series{Name: "fit", Style: plot.Line}
	size, angle := fitted, fitted
	for i := range drawnPoints {
		hz := low * math.Pow(high/low, float64(i)/(drawnPoints-1))
		m, p := r.Predict(hz)
		size.X, size.Y = append(size.X, hz), append(size.Y, m)
		angle.X, angle.Y = append(angle.X, hz), append(angle.Y, degrees(p))
	}
	hertz := plot.Scale{Name: "frequency", Unit: "Hz", Log: true}
	left := leftovers(s, r, size)
	most := furthest(left)
	return &plot.Chart{Title: title, Note: s.note(), X: hertz, Panels: []plot.ChartPanel{
		{Y: plot.Scale{Name: "impedance |Z|", Unit: "Ω", Log: true}, Height: 5,
			Series: []plot.Series{banded(size), size, s.read(modulusOf, cabs)}},
		{Y: plot.Scale{Name: "phase", Unit: "°"}, Height: 4,
			Series: []plot.Series{banded(angle), angle, s.read(phaseOf, degreesOf)}},
		{Y: plot.Scale{Name: "reading less fit, of |Z|", Unit: "%", Low: -most, High: most}, Height: 3, Series: left},
	}}
}

// banded is the band of a curve.
func banded(s plot.Series) plot.Series {
	s.Name, s.Style = "95 % interval of the fit", plot.Area
	return s
}

// leftovers are what the fit leaves of the size, in per cent, about its own band.
func leftovers(s *Swept, r *circuit.Ranked, size plot.Series) []plot.Series {
	band := plot.Series{Style: plot.Area}
	for i, q := range size.Y {
		band.X = append(band.X, size.X[i])
		band.Y = append(band.Y, uncertain.Quantity{Low: 100 * (q.Low/q.Value - 1), High: 100 * (q.High/q.Value - 1)})
	}
	dots := s.read(modulusOf, cabs)
	for i, q := range dots.Y {
		m, _ := r.Predict(dots.X[i])
		of := func(v float64) float64 { return 100 * (v/m.Value - 1) }
		dots.Y[i] = uncertain.Quantity{Value: of(q.Value), Low: of(q.Low), High: of(q.High)}
	}
	zero := plot.Series{Style: plot.Line, X: []float64{size.X[0], size.X[len(size.X)-1]}, Y: plot.Exactly([]float64{0, 0})}
	return []plot.Series{band, zero, dots}
}

// furthest is how far from zero anything of some series lies, and a little more.
func furthest(list []plot.Series) float64 {
	most := 0.0
	for _, s := range list {
		for _, q := range s.Y {
			for _, v := range []float64{q.Value, q.Low, q.High} {
				if a := math.Abs(v); !math.IsInf(a, 0) && !math.IsNaN(a) {
					most = max(most, a)
				}
			}
		}
	}
	return max(1.1*most, 1e-9)
}

// Chart draws the best circuit with the readings.
func (f *Fitted) Chart() *plot.Chart {
	return fitCharts(f.Swept, f.Best(), f.title()+" as "+f.Best().Result.Circuit.String())
}

// Plane draws it in the plane of complex numbers.
func (f *Fitted) Plane() *plot.Chart { return planeWithFit(f.Swept, f.Best(), f.title()) }

func planeWithFit(s *Swept, r *circuit.Ranked, title string) *plot.Chart {
	read := plot.Series{Name: "reading", Style: plot.Dots}
	low, high := math.Inf(1), 0.0
	for i, z := range s.Data.Z {
		read.X, read.Y = append(read.X, real(z)), append(read.Y, plot.Exactly([]float64{imag(z)})...)
		low, high = min(low, s.Data.FreqHz[i]), max(high, s.Data.FreqHz[i])
	}
	line := plot.Series{Name: "fit " + r.Result.Circuit.String(), Style: plot.Line}
	for _, z := range traced(func(hz float64) complex128 { return r.Result.Circuit.Impedance(hz, r.Values()...) }, low, high) {
		line.X, line.Y = append(line.X, real(z)), append(line.Y, plot.Exactly([]float64{imag(z)})...)
	}
	return &plot.Chart{Title: title, Note: s.note(), X: plot.Scale{Name: "resistance", Unit: "Ω"},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "reactance", Unit: "Ω"}, Series: []plot.Series{line, read}, Square: true}}}
}
