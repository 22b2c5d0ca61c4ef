package order

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestKthIsWhatSortingGives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Small integers make many ties, which is where partitions go wrong.
		element := rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-5, 5).Draw(t, "v")) })
		v := rapid.SliceOfN(element, 1, 60).Draw(t, "v")
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		sorted := slices.Clone(v)
		slices.Sort(sorted)
		got := Kth(v, k)
		if got != sorted[k] {
			t.Fatalf("element %d of %v: got %v", k, sorted, got)
		}
		for i, x := range v {
			if (i < k && x > got) || (i > k && x < got) {
				t.Fatalf("%v is not parted at %d", v, k)
			}
		}
		slices.Sort(v)
		if !slices.Equal(v, sorted) {
			t.Fatalf("elements lost: %v from %v", v, sorted)
		}
	})
}

func TestKthOfEqualAndOrdered(t *testing.T) {
	same, up := make([]float64, 100000), make([]float64, 100000)
	for i := range up {
		up[i] = float64(i)
	}
	if got := Kth(same, 77); got != 0 {
		t.Errorf("of zeros: %v", got)
	}
	if got := Kth(up, 777); got != 777 {
		t.Errorf("of an ascending run: %v", got)
	}
}
