package uncertain

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestBudget: labels merge, a correlated block is one line with cᵀVc, what
// contributes nothing is left out, the largest comes first.
func TestBudget(t *testing.T) {
	var in Inputs
	in.Add("contact", 0, 3)
	in.AddJoint("noise", []float64{0, 0}, mat.NewSymDense(2, []float64{4, -3, -3, 9}), 10)
	in.Add("contact", 0, 4, Rectangular)
	in.Add("exact", 0, 0)
	in.Add("unused", 0, 100)
	r := mustPropagate(t, &in, 1, sum(1, 1, 1, 1, 1, 0))
	noise := 4.0 - 6 + 9
	want := []Contribution{
		{"contact", 5, 25 / (25 + noise)},
		{"noise", math.Sqrt(noise), noise / (25 + noise)},
	}
	got := r.Budget(0)
	if len(got) != len(want) {
		t.Fatalf("budget %v, want %v", got, want)
	}
	for i, w := range want {
		if got[i].Label != w.Label {
			t.Errorf("line %d is %q, want %q", i, got[i].Label, w.Label)
		}
		near(t, w.Label, got[i].U, w.U, 1e-10)
		near(t, w.Label, got[i].Share, w.Share, 1e-10)
	}
}

// TestBudgetEqualShares keeps the order in which the inputs were added.
func TestBudgetEqualShares(t *testing.T) {
	var in Inputs
	for _, label := range []string{"c", "a", "b"} {
		in.Add(label, 0, 1)
	}
	r, err := PropagateWith(&in, 1, sum(), func(dst *mat.Dense, x []float64) { dst.SetRow(0, []float64{1, 1, 1}) })
	if err != nil {
		t.Fatal(err)
	}
	order := ""
	for _, c := range r.Budget(0) {
		order += c.Label
	}
	if order != "cab" {
		t.Errorf("order %q, want %q", order, "cab")
	}
}

// TestBudgetDoesNotFollowItsInputs: inputs added later are not part of a result.
func TestBudgetDoesNotFollowItsInputs(t *testing.T) {
	var in Inputs
	in.Add("first", 0, 1)
	r := mustPropagate(t, &in, 1, sum())
	in.Add("later", 0, 1)
	if b := r.Budget(0); len(b) != 1 || b[0].Label != "first" {
		t.Errorf("budget %v", b)
	}
	if low, high := r.Interval(0, 0.95); !(low < -1.95 && high > 1.95 && high < 1.97) {
		t.Errorf("interval %g to %g", low, high)
	}
}
