package circuit

import (
	"fmt"
	"math"
)

// correlated is how strongly two values move together before a note says so.
const correlated = 0.99

// note lists what a person must know of a fit.
func (r *Result) note(known bool) {
	if !r.Converged {
		r.add(NoteSteps, nil, "the search ran out of steps", "do not rely on the values; try fewer unknowns")
	}
	switch r.Agreement {
	case Disagrees:
		r.add(NoteDisagrees, nil, r.Words(), "check the sweep first, whether it can come from any circuit; then try another circuit")
	case TooClose:
		r.add(NoteTooClose, nil, r.Words(), "give the full covariance of the points, or take chi-square for no more than it is")
	}
	if r.Agreement != Agrees && r.Agreement != TooClose && r.Agreeing < 2 && r.Tries > 1 {
		r.add(NoteMinima, nil, fmt.Sprintf("of %d starting values only one led to this chi-square", r.Tries), "there may be a better minimum; give starting values")
	}
	for _, p := range r.Parameters {
		r.noteParameter(p)
	}
	r.noteCorrelations()
}

func (r *Result) add(code string, names []string, detail, advice string) {
	r.Notes = append(r.Notes, Note{code, names, detail, advice})
}

func (r *Result) noteParameter(p Parameter) {
	names := []string{p.Name}
	switch p.State {
	case AtBound:
		r.add(NoteBound, names, fmt.Sprintf("%s is at its bound, %.3g %s", p.Name, p.Estimate, p.Unit), "the interval ends there because of the bound, not of the sweep")
	case AtLeast:
		r.add(NoteUndetermined, names, fmt.Sprintf("%s is at least %.3g %s; the sweep gives no upper bound", p.Name, p.Low, p.Unit), "leave the element out, or sweep where it matters")
	case AtMost:
		r.add(NoteUndetermined, names, fmt.Sprintf("%s is at most %.3g %s; the sweep gives no lower bound", p.Name, p.High, p.Unit), "leave the element out, or sweep where it matters")
	case Undetermined:
		r.add(NoteUndetermined, names, fmt.Sprintf("%s can have any value: the sweep does not determine it", p.Name), "leave the element out, or sweep where it matters")
	}
}

// noteCorrelations names pairs of which only the product or the ratio is determined.
func (r *Result) noteCorrelations() {
	for i, a := range r.Parameters {
		for j, b := range r.Parameters[:i] {
			c := r.Correlation.At(i, j)
			if a.State != Determined || b.State != Determined || math.Abs(c) < correlated {
				continue
			}
			what := "ratio"
			if c < 0 {
				what = "product"
			}
			r.add(NoteCorrelated, []string{b.Name, a.Name},
				fmt.Sprintf("%s and %s move together (correlation %.4f): their %s is known better than either", b.Name, a.Name, c, what),
				"widen the sweep, or fix one of them")
		}
	}
}
