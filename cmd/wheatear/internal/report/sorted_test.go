package report

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/parts"
)

func marking(t *testing.T, text string) parts.Marking {
	t.Helper()
	list, err := parts.Read(text, parts.None)
	if err != nil {
		t.Fatal(err)
	}
	return list[0]
}

func TestSortLine(t *testing.T) {
	nan := math.NaN()
	expected := marking(t, "100nJ")
	for _, c := range []struct {
		name string
		p    run.Part
		want string
	}{
		{"pass", run.Part{Number: 1, Value: 101e-9, U: 0.1e-9, Verdict: "pass", EnoughU: nan, Bin: "1%", Chance: 0.52}, "   1  PASS       101.00 nF ± 0.10 nF       bin 1% (52 %)\n"},
		{"fail", run.Part{Number: 12, Value: 80e-9, U: 0.1e-9, Verdict: "fail", EnoughU: nan, Bin: batch.Outside, Chance: 1}, "  12  FAIL       80.00 nF ± 0.10 nF        bin outside\n"},
		{"within", run.Part{Number: 3, Value: 104.9e-9, U: 0.2e-9, Verdict: "undecided", EnoughU: 0.06e-9}, "   3  UNDECIDED  104.90 nF ± 0.20 nF\n      cannot be told: 100 pF within the limit of 105 nF, inside the guard band;\n      needs u < 60 pF, has 200 pF\n"},
		{"beyond", run.Part{Number: 4, Value: 94.9e-9, U: 0.2e-9, Verdict: "undecided", EnoughU: 0.06e-9}, "   4  UNDECIDED  94.90 nF ± 0.20 nF\n      cannot be told: 100 pF beyond the limit of 95 nF, inside the guard band;\n      needs u < 60 pF, has 200 pF\n"},
		{"unread", run.Part{Number: 5, Value: nan, U: nan, Verdict: "undecided", EnoughU: nan}, "   5  UNREAD     —\n"},
		{"none such", run.Part{Number: 6, Value: nan, U: nan, Verdict: "fail", EnoughU: nan}, "   6  FAIL       —\n"},
	} {
		var b bytes.Buffer
		SortLine(&b, c.p, expected, false)
		if b.String() != c.want {
			t.Errorf("%s:\n%q, want\n%q", c.name, b.String(), c.want)
		}
	}
}

// Every verdict can be written large, in 80 columns.
func TestLargeVerdicts(t *testing.T) {
	for _, verdict := range []string{"pass", "fail", "undecided", ""} {
		p := run.Part{Value: 1, Verdict: verdict}
		if verdict == "" {
			p.Value, p.Verdict = math.NaN(), "undecided"
		}
		var b bytes.Buffer
		letters(&b, word(p))
		rows := strings.Split(b.String(), "\n")
		if len(rows) != 8 {
			t.Errorf("%s: %d rows", word(p), len(rows))
		}
		for _, r := range word(p) {
			if glyphs[r] == [5]string{} {
				t.Errorf("%s: no letter %c", word(p), r)
			}
		}
		for _, row := range rows {
			if width(row) > Columns {
				t.Errorf("%s: %d columns: %s", word(p), width(row), row)
			}
		}
	}
}

// The histogram holds every part that counts once, is no finer than parts can be told
// apart, and shows no digit too many.
func TestSortedColumns(t *testing.T) {
	for _, c := range []struct {
		name    string
		values  []float64
		own     float64
		columns int
	}{
		{"apart", []float64{96e-9, 98e-9, 99e-9, 100e-9, 101e-9, 104e-9}, 1e-12, 4},
		{"alike", []float64{100e-9, 100e-9, 100e-9}, 1e-12, 1},
		{"within noise", []float64{99e-9, 100e-9, 101e-9, 100.5e-9}, 1e-9, 2},
		{"none", nil, 0, 0},
	} {
		var list []run.Part
		for i, v := range c.values {
			list = append(list, run.Part{Number: i + 1, Value: v, U: c.own, OwnU: c.own, Verdict: "pass"})
		}
		s := NewSorted(&Measurement{}, marking(t, "100nJ"), "100nJ", "x.csv", list)
		middles, counts := s.columnsOf()
		sum := 0
		for _, n := range counts {
			sum += n
		}
		if len(middles) != c.columns || sum != s.Spread.N {
			t.Errorf("%s: %d columns with %d parts, want %d with %d", c.name, len(middles), sum, c.columns, s.Spread.N)
		}
	}
}

func TestSortTally(t *testing.T) {
	var list []run.Part
	for i, v := range []float64{99e-9, 100e-9, 101e-9, 80e-9, 104.99e-9} {
		verdict := []string{"pass", "pass", "pass", "fail", "undecided"}[i]
		list = append(list, run.Part{Number: i + 1, Value: v, U: 0.1e-9, OwnU: 0.01e-9, Verdict: verdict})
	}
	var b bytes.Buffer
	SortTally(&b, NewSorted(&Measurement{}, marking(t, "100nJ"), "100nJ", "x.csv", list))
	if want := "      5 parts: 3 passed, 1 failed, 1 undecided; mean 101.2 nF, spread 2.6 %\n"; b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
}
