package run

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

var (
	film = Kind{parts.Farad, "100 nF/5 %"}
	head = line(header(parts.Farad))
	good = "1,a,2026-01-01T00:00:00Z,100 nF/5 %,1000,1,1,1,1,1,pass,0,,b,1,,,,,,\r\n"
)

func part(n int, name string) Part {
	return Part{Number: n, Name: name, At: time.Date(2026, 2, 3, 4, 5, 6, 0, time.UTC), Expected: film.Expected, FreqHz: 1000, Value: 1.01e-7, U: 1e-10, OwnU: 2e-11, Low: 1.008e-7,
		High: 1.02e-7, Verdict: "undecided", Risk: 1e-9, EnoughU: 3e-11, Bin: "100n, \"good\"", Chance: 1}
}

func opened(t *testing.T, name string) *File {
	t.Helper()
	f, err := Open(name, film)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func added(t *testing.T, f *File, p Part) {
	t.Helper()
	if got, err := f.Add(p); err != nil || got.Number != len(f.Parts()) {
		t.Fatalf("%+v, %v", got, err)
	}
}

// Wherever a line is cut off, the run goes on with the parts that were whole.
func TestARunGoesOnAfterAnyCut(t *testing.T) {
	name := filepath.Join(t.TempDir(), "run.csv")
	names := []string{"a", "b,c", "d\ne", "a"}
	f := opened(t, name)
	for i, n := range names {
		added(t, f, part(i+1, n))
	}
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(whole) + 1 {
		if err := os.WriteFile(name, whole[:cut], 0o666); err != nil {
			t.Fatal(err)
		}
		f := opened(t, name)
		had := len(f.Parts())
		if want := max(0, strings.Count(string(whole[:cut]), "\n")-1); had != want {
			t.Fatalf("cut at %d: %d parts, want %d", cut, had, want)
		}
		for i := had; i < len(names); i++ {
			added(t, f, part(i+1, names[i]))
		}
		f.Close()
		if again, err := os.ReadFile(name); err != nil || string(again) != string(whole) {
			t.Fatalf("cut at %d: the run came out as %q, %v", cut, again, err)
		}
	}
	f = opened(t, name)
	if got := f.Parts()[1]; got != part(2, "b,c") {
		t.Errorf("%+v", got)
	}
	for n, want := range map[string]int{"a": 2, "b,c": 1, "d\ne": 1, "f": 0} {
		if got := f.Count(n); got != want {
			t.Errorf("%q is there %d times, want %d", n, got, want)
		}
	}
}

// What could not be told is an empty field, and is not told after it was read, either.
func TestAnUnreadPart(t *testing.T) {
	name := filepath.Join(t.TempDir(), "run.csv")
	nan := math.NaN()
	added(t, opened(t, name), Part{FreqHz: 1000, Value: nan, U: nan, OwnU: nan, Low: nan, High: nan, Verdict: "undecided", Risk: nan, EnoughU: nan, Chance: nan})
	text, _ := os.ReadFile(name)
	if want := head + "1,,0001-01-01T00:00:00Z,100 nF/5 %,1000,,,,,,undecided,,,,,,,,,,\r\n"; string(text) != want {
		t.Errorf("%q, want %q", text, want)
	}
	if p := opened(t, name).Parts()[0]; !math.IsNaN(p.Value) || !math.IsNaN(p.Chance) || p.Bin != "" {
		t.Errorf("%+v", p)
	}
}

func TestOtherFilesAreLeftAlone(t *testing.T) {
	for i, c := range []struct {
		text string
		is   error
	}{
		{"hello", ErrOther}, {"a,b\n1,2\n", ErrOther}, {head + "1,2\r\n", ErrOther}, {head + strings.Replace(good, "1,a", "x,a", 1), nil},
		{head + strings.Replace(good, "pass,0", "pass,zero", 1), nil}, {head + strings.Replace(good, "2026-01", "soon", 1), nil},
		{head + strings.Replace(good, "100 nF/5", "47 nF/5", 1), ErrAnother}, {line(header(parts.Ohm)) + good, ErrAnother},
		{head + good + good, nil}, {head + strings.Replace(good, "1,a", "2,a", 1), nil},
	} {
		name := filepath.Join(t.TempDir(), "x.csv")
		if err := os.WriteFile(name, []byte(c.text), 0o666); err != nil {
			t.Fatal(err)
		}
		if f, err := Open(name, film); err == nil {
			f.Close()
			t.Errorf("%d: %q was opened", i, c.text)
		} else if c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%d: %v", i, err)
		}
		if after, _ := os.ReadFile(name); string(after) != c.text {
			t.Errorf("%d: the file was changed to %q", i, after)
		}
	}
}

// Two programs do not write into one run, and one run has one frequency.
func TestOneRunOnly(t *testing.T) {
	name := filepath.Join(t.TempDir(), "run.csv")
	one, two := opened(t, name), opened(t, name)
	added(t, one, part(1, "a"))
	if _, err := two.Add(part(1, "a")); !errors.Is(err, ErrShared) {
		t.Errorf("another writer: %v", err)
	}
	other := part(2, "b")
	other.FreqHz = 120
	if _, err := one.Add(other); !errors.Is(err, ErrAnother) {
		t.Errorf("another frequency: %v", err)
	}
	added(t, one, part(2, "b"))
}

// The last part is taken back, whole and for good; whoever holds the list of before keeps
// it as it was.
func TestTakeBack(t *testing.T) {
	name := filepath.Join(t.TempDir(), "run.csv")
	f := opened(t, name)
	if _, err := f.TakeBack(); err == nil {
		t.Error("a part was taken off an empty run")
	}
	for i, n := range []string{"a", "b,c", "d"} {
		added(t, f, part(i+1, n))
	}
	before := f.Parts()
	if p, err := f.TakeBack(); err != nil || p.Name != "d" {
		t.Fatalf("%+v, %v", p, err)
	}
	added(t, f, part(3, "e"))
	if before[2].Name != "d" {
		t.Errorf("the list of before has changed: %+v", before[2])
	}
	f.Close()
	f = opened(t, name)
	for _, want := range []string{"e", "b,c", "a"} {
		if p, err := f.TakeBack(); err != nil || p.Name != want {
			t.Errorf("%+v, %v, want %s", p, err, want)
		}
	}
	if text, err := os.ReadFile(name); err != nil || string(text) != head {
		t.Errorf("%q, %v", text, err)
	}
	added(t, f, part(1, "a"))
	other := opened(t, name)
	added(t, other, part(2, "b"))
	if _, err := f.TakeBack(); !errors.Is(err, ErrShared) {
		t.Errorf("another writer: %v", err)
	}
}

// What a part is instead of what was expected comes back from the file; a file of an
// older version has no room for it, and goes on as it is.
func TestPartsOfAnotherKind(t *testing.T) {
	name := filepath.Join(t.TempDir(), "run.csv")
	coil := part(1, "coil")
	nan := math.NaN()
	coil.Value, coil.U, coil.OwnU, coil.Low, coil.High, coil.Verdict = nan, nan, nan, nan, nan, "fail"
	coil.As = impedance.Element{Kind: impedance.Inductor, Circuit: impedance.SeriesCircuit}
	coil.Main = uncertain.Quantity{Value: 1e-3, U: 1e-6, Low: 0.998e-3, High: 1.002e-3}
	added(t, opened(t, name), coil)
	if p := opened(t, name).Parts()[0]; p.As != coil.As || p.Main != coil.Main || !p.OfAnotherKind() {
		t.Errorf("%+v, want %+v", p, coil)
	}
	old := strings.Join(header(parts.Farad)[:oldColumns], ",") + "\r\n" + strings.Replace(good, ",,,,,,\r", "\r", 1)
	if err := os.WriteFile(name, []byte(old), 0o666); err != nil {
		t.Fatal(err)
	}
	added(t, opened(t, name), part(2, "b"))
	text, err := os.ReadFile(name)
	if err != nil || !strings.HasPrefix(string(text), old) || len(opened(t, name).Parts()) != 2 {
		t.Errorf("%v: %s", err, text)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(head + good))
	f.Fuzz(func(t *testing.T, text []byte) {
		parts, _, err := parse(text, film)
		if err != nil && parts != nil {
			t.Errorf("%v and %d parts", err, len(parts))
		}
	})
}
