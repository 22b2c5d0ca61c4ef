package run

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func part(n int, name string) Part {
	return Part{Number: n, Name: name, At: time.Date(2026, 2, 3, 4, 5, 6, 0, time.UTC), FreqHz: 1000, Value: 1.01e-7, U: 1e-10, OwnU: 2e-11, Low: 1.008e-7, High: math.Inf(1),
		Unit: "F", Verdict: "pass", Risk: 1e-9, Bin: "100n, \"good\"", Chance: 1}
}

// Wherever a line is cut off, the run goes on with the parts that were whole.
func TestARunGoesOnAfterAnyCut(t *testing.T) {
	name := filepath.Join(t.TempDir(), "run.csv")
	f, err := Open(name)
	if err != nil {
		t.Fatal(err)
	}
	for i, n := range []string{"a", "b,c", "d"} {
		if err := f.Add(part(i+1, n)); err != nil {
			t.Fatal(err)
		}
	}
	f.Close()
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(whole) + 1 {
		if err := os.WriteFile(name, whole[:cut], 0o666); err != nil {
			t.Fatal(err)
		}
		f, err := Open(name)
		if err != nil {
			t.Fatalf("cut at %d: %v", cut, err)
		}
		had := len(f.Parts())
		for i, n := range []string{"a", "b,c", "d"} {
			if f.Has(n) != (i < had) {
				t.Fatalf("cut at %d: %d parts, %s is there: %v", cut, had, n, f.Has(n))
			}
			if !f.Has(n) {
				if err := f.Add(part(i+1, n)); err != nil {
					t.Fatal(err)
				}
			}
		}
		f.Close()
		if again, err := os.ReadFile(name); err != nil || string(again) != string(whole) {
			t.Fatalf("cut at %d: the run came out as %q, %v", cut, again, err)
		}
	}
	f, _ = Open(name)
	defer f.Close()
	if got := f.Parts()[1]; got != part(2, "b,c") {
		t.Errorf("%+v", got)
	}
}

func TestOtherFilesAreLeftAlone(t *testing.T) {
	for i, text := range []string{"hello", "a,b\n1,2\n", line(header) + "1,2\n", line(header) + "x,a,2026-01-01T00:00:00Z,1,1,1,1,1,1,F,pass,0,b,1\n"} {
		name := filepath.Join(t.TempDir(), "x.csv")
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if f, err := Open(name); err == nil {
			f.Close()
			t.Errorf("%d: %q was opened", i, text)
		} else if i < 2 && !errors.Is(err, ErrOther) {
			t.Errorf("%d: %v", i, err)
		}
		if after, _ := os.ReadFile(name); string(after) != text {
			t.Errorf("%d: the file was changed to %q", i, after)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(line(header) + "1,a,2026-01-01T00:00:00Z,1,1,1,1,1,1,F,pass,0,b,1\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		parts, err := parse(text)
		if err != nil && parts != nil {
			t.Errorf("%v and %d parts", err, len(parts))
		}
	})
}
