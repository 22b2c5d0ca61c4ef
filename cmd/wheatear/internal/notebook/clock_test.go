package notebook

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// jumps is a clock that is set ahead by a year, back by two, back to the same moment,
// and right again.
var jumps = []time.Duration{0, time.Minute, 365 * 24 * time.Hour, 365*24*time.Hour + time.Second,
	-365 * 24 * time.Hour, -364 * 24 * time.Hour, 0, 0, 2 * time.Minute}

// Whatever the clock does, all entries are there, in the order in which they were made:
// in the list, in both exports, after an import, and for what is kept when the others go.
func TestClockJumps(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	var want []string
	for i, jump := range jumps {
		e := capacitor(0, "film", 1e-7*(1+1e-4*float64(i)), 1e-10)
		e.Time, e.Note = noon.Add(jump), fmt.Sprint("made as number ", i)
		add(t, n, e)
		want = append(want, e.Note)
	}
	order := func(n *Notebook) (notes []string) {
		for _, e := range listed(t, n, Filter{}) {
			notes = append(notes, e.Note)
		}
		slices.Reverse(notes)
		return notes
	}
	if got := order(n); !slices.Equal(got, want) {
		t.Errorf("listed %q", got)
	}
	text := exported(t, n, Filter{})
	to := fresh(t)
	if added, _, err := to.Import(ctx, strings.NewReader(text)); err != nil || added != len(want) || !slices.Equal(order(to), want) {
		t.Errorf("imported %d, %v: %q", added, err, order(to))
	}
	var table bytes.Buffer
	if count, err := n.ExportCSV(ctx, &table, Filter{}); err != nil || count != len(want) {
		t.Errorf("%d in the table, %v", count, err)
	}
	past, err := n.History(ctx, "film", Choice{})
	if err != nil || len(past.Points) != len(want) {
		t.Fatalf("%d points, %v", len(past.Points), err)
	}
	for i, p := range past.Points[1:] {
		if p.Time.Before(past.Points[i].Time) {
			t.Errorf("point %d of the history, which is drawn over time, lies before the one before it", i+1)
		}
	}
	if _, err := n.Prune(ctx, Excess{Keep: 4}); err != nil {
		t.Fatal(err)
	}
	if got := order(n); !slices.Equal(got, want[len(want)-4:]) {
		t.Errorf("of the newest four are left %q", got)
	}
}
