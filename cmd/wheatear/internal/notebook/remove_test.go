package notebook

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"testing"
)

// What is removed is gone from every list, and comes back as it was, under its number.
func TestRemoveAndRestore(t *testing.T) {
	ctx, n := context.Background(), fresh(t)
	for i, label := range []string{"C1", "C2", "C3"} {
		add(t, n, capacitor(i, label, 1e-7, 1e-10))
	}
	before, err := n.Get(ctx, 2)
	if err != nil {
		t.Fatal(err)
	}
	e, err := n.Remove(ctx, 2)
	if err != nil || e.Label != "C2" {
		t.Fatalf("%+v, %v", e, err)
	}
	if _, err := n.Get(ctx, 2); !errors.Is(err, ErrUnknown) {
		t.Errorf("it is still there: %v", err)
	}
	for _, f := range []Filter{{Label: "C2"}, {Text: "C2"}, {IDs: []int64{2}}} {
		if got := numbersOf(listed(t, n, f)); got != "[]" {
			t.Errorf("%+v still lists %s", f, got)
		}
	}
	if _, err := n.Remove(ctx, 2); !errors.Is(err, ErrUnknown) {
		t.Errorf("removed twice: %v", err)
	}
	add(t, n, capacitor(9, "C4", 1e-7, 1e-10)) // takes no number that is free
	for range 2 {
		if err := n.Restore(ctx, e); err != nil {
			t.Fatal(err)
		}
	}
	if after, err := n.Get(ctx, 2); err != nil || !reflect.DeepEqual(after, before) {
		t.Errorf("it came back as %+v, %v; was %+v", after, err, before)
	}
	if got := numbersOf(listed(t, n, Filter{Text: "C2"})); got != "[2]" {
		t.Errorf("found by its label: %s", got)
	}
	if got := numbersOf(listed(t, n, Filter{IDs: []int64{4, 1}})); got != "[4 1]" {
		t.Errorf("by numbers: %s", got)
	}
	if x, err := n.Examine(ctx, nil); err != nil || x.Left() != 0 {
		t.Errorf("the check finds %+v, %v", x, err)
	}
}

func numbersOf(list []*Entry) string {
	out := []int64{}
	for _, e := range list {
		out = append(out, e.ID)
	}
	return fmt.Sprint(out)
}
