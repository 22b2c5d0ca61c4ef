package tell_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

var update = flag.Bool("update", false, "write what the goldens should be")

// example is the entry of a document as the program wrote it.
func example(t testing.TB, file string) *result.NotebookShow {
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return entryWith(text)
}

func entryWith(doc []byte) *result.NotebookShow { return &result.NotebookShow{Result: doc} }

// facts is what pages show of it.
func facts(s *result.NotebookShow) []view.Section { return view.Sections(tell.EntryResult(s)) }

func examples(t testing.TB) []string {
	files, err := filepath.Glob("testdata/facts/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	return files
}

func TestFactsOfEveryKind(t *testing.T) {
	for _, file := range examples(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			e := example(t, file)
			if err := clitest.ConformsText(e.Result); err != nil {
				t.Fatalf("the example is none: %v", err)
			}
			var b bytes.Buffer
			_ = text.Write(&b, tell.EntryResult(e), text.Look{}) // into memory
			golden := strings.TrimSuffix(file, ".json") + ".txt"
			if *update {
				if err := os.WriteFile(golden, b.Bytes(), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got := b.String(); got != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
			for _, line := range strings.Split(b.String(), "\n") {
				if utf8.RuneCountInString(line) > text.Usual {
					t.Errorf("wider than %d columns: %q", text.Usual, line)
				}
			}
			for _, wrong := range []string{"NaN", "Inf", "%!", "<nil>", "null", "\u00a0"} {
				if strings.Contains(b.String(), wrong) {
					t.Errorf("%q stands in\n%s", wrong, b.String())
				}
			}
		})
	}
}

// What a person sees must be what the document says: figures are looked for that are
// computed from the documents by hand.
func TestFactsSayTheFigures(t *testing.T) {
	for _, c := range []struct{ file, section, name, want string }{
		{"level.json", "", "kind", "class-2 ceramic"},
		{"level.json", "", "C at level zero", "220.00\u00a0±\u00a00.22\u00a0nF"},
		{"incircuit.json", "", "capacitance of the part", "95.98\u00a0(95.87\u00a0to\u00a096.55)\u00a0µF"},
		{"identify_network.json", "Circuit Rp // (C + Rs)", "Rs", "33.4949\u00a0±\u00a00.0015\u00a0Ω"},

		{"sort.json", "", "mean", "471.6\u00a0±\u00a02.2\u00a0Ω"},
		{"verify_faults.json", "", "verdict", "fail"},
		{"fullscale.json", "", "first input", "8.05\u00a0V"},
	} {
		t.Run(c.file+" "+c.name, func(t *testing.T) {
			got := "nothing"
			for _, s := range facts(example(t, "testdata/facts/"+c.file)) {
				for _, f := range s.Facts {
					if s.Title == c.section && f.Name == c.name {
						got = f.Text
					}
				}
			}
			if got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// Levels are volts only where the jig file tells what full scale is.
func TestFactsOfRelativeLevels(t *testing.T) {
	e := example(t, "testdata/facts/level.json")
	jig := "name = \"j\"\nchannels = [\"total\", \"part\"]\nreference = \"1k\"\nreference_tolerance = \"0.1%\"\nmains = 50\n"
	for _, c := range []struct{ jig, want string }{{jig, "dBFS"}, {jig + "full_scale = \"1V\"\n", "V"}} {
		e.RestsOn = []result.Kept{{Role: "jig", Name: "j.toml", Text: c.jig}}
		for _, s := range facts(e) {
			for _, row := range s.Rows {
				if !strings.HasSuffix(row[0], c.want) {
					t.Errorf("level %q of a jig with %q, want %s", row[0], c.jig, c.want)
				}
			}
		}
	}
}

// Whatever is missing, null or of another type in a document, there are words for the
// rest, and no panic.
func TestFactsOfBrokenDocuments(t *testing.T) {
	for _, file := range examples(t) {
		whole := example(t, file).Result
		var doc any
		if err := json.Unmarshal(whole, &doc); err != nil {
			t.Fatal(err)
		}
		broken := 0
		var spoil func(at any)
		try := func() {
			encoded, err := json.Marshal(doc)
			if err != nil {
				t.Fatal(err)
			}
			broken++
			_ = text.Write(&bytes.Buffer{}, tell.EntryResult(entryWith(encoded)), text.Look{})
		}
		spoil = func(at any) {
			switch v := at.(type) {
			case map[string]any:
				for key, old := range v {
					if key == "schema" {
						continue
					}
					for _, other := range []any{nil, "text", -1e300, []any{nil}} {
						v[key] = other
						try()
					}
					delete(v, key)
					try()
					v[key] = old
					spoil(old)
				}
			case []any:
				for i := range min(1, len(v)) {
					spoil(v[i])
				}
			}
		}
		spoil(doc)
		if broken < 10 {
			t.Errorf("%s: only %d ways of breaking it were tried", file, broken)
		}
	}
}

func TestFactsOfTheUnknown(t *testing.T) {
	got := facts(entryWith([]byte(`{"schema": "wheatear.dream/7", "figure": 1.23456789, "of_whom": "nobody", "sure": false, "list": [1, 2]}`)))
	if len(got) != 1 || len(got[0].Facts) != 5 || got[0].Facts[0] != (view.Fact{Key: "figure", Name: "figure", Text: "1.235"}) {
		t.Errorf("got %+v", got)
	}
	for _, text := range []string{``, `null`, `[]`, `{"schema": "wheatear.measure/1"}`, `{"schema": "wheatear.sort/1", "parts": null}`} {
		text, err := json.Marshal(facts(entryWith([]byte(text))))
		if err != nil || bytes.Contains(text, []byte("null")) {
			t.Errorf("%s, %v: lists must be empty, not null", text, err)
		}
	}
}

func FuzzFacts(f *testing.F) {
	for _, file := range examples(f) {
		f.Add([]byte(example(f, file).Result))
	}
	f.Fuzz(func(t *testing.T, doc []byte) {
		_ = text.Write(&bytes.Buffer{}, tell.EntryResult(entryWith(doc)), text.Look{})
	})
}

func TestStretchOfPoints(t *testing.T) {
	at := func(hz ...float64) *result.Entry {
		e := &result.Entry{}
		for _, f := range hz {
			e.Points = append(e.Points, result.Point{FreqHz: f})
		}
		return e
	}
	for _, c := range []struct {
		name string
		e    *result.Entry
		want string
	}{
		{"levels at one frequency", at(1000, 1000, 1000), "3 readings, all at 1 kHz"},
		{"a sweep", at(19.99183, 311.1669, 19991.83), "3 readings, 20 Hz to 20 kHz"},
		{"a sweep downwards", at(3000, 20), "2 readings, 20 Hz to 3 kHz"},
	} {
		reads, at := tell.EntryReads(c.e)
		var set typeset.Setter
		if got := strings.ReplaceAll(set.Text(reads)+", "+set.Text(at), "\u00a0", " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
