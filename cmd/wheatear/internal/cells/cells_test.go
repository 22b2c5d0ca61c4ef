package cells_test

import (
	"bytes"
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/cmd/wheatear/internal/cells"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

func TestTextIsNoFormula(t *testing.T) {
	for text, want := range map[string]string{
		"": "", "C12": "C12", "=1+1": "'=1+1", "-12V rail": "'-12V rail", "+5V": "'+5V", "@sum": "'@sum", "\t=1": "'\t=1", "\r=1": "'\r=1",
		"'quoted": "''quoted", "a=b": "a=b", "−5": "−5",
	} {
		if got := cells.Text(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// Whatever people write comes back from a file that strict readers take.
func TestTextsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texts := rapid.SliceOfN(rapid.OneOf(rapid.StringMatching(`[=+@'"\-,;\t a-zé]{0,6}`), rapid.StringMatching(`[ -~\n]{0,10}`)), 2, 5).Draw(t, "texts")
		var b bytes.Buffer
		w := cells.NewWriter(&b)
		guarded := make([]string, len(texts))
		for i, text := range texts {
			guarded[i] = cells.Text(text)
		}
		if err := w.Write(guarded); err != nil {
			t.Fatal(err)
		}
		w.Flush()
		rows, err := clitest.CSV(b.Bytes())
		if err != nil || len(rows) != 1 {
			t.Fatalf("%q: %v", b.String(), err)
		}
		for i, text := range texts {
			// The lines of a text are parted as those of the file are.
			if got := cells.Original(rows[0][i]); got != string(bytes.ReplaceAll([]byte(text), []byte("\n"), []byte("\r\n"))) {
				t.Fatalf("%q comes back as %q", text, got)
			}
		}
	})
}

func TestNumber(t *testing.T) {
	for want, v := range map[string]float64{"": math.NaN(), "1e-07": 1e-7, "-0.5": -0.5, "123456.789": 123456.789, "0.1": 0.1} {
		if got := cells.Number(v); got != want {
			t.Errorf("%v: %q, want %q", v, got, want)
		}
	}
	if cells.Number(math.Inf(1)) != "" || cells.Number(math.Inf(-1)) != "" {
		t.Error("an end that is none is not empty")
	}
}
