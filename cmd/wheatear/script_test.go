package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

func TestMain(m *testing.M) {
	testscript.Main(tidy{m}, map[string]func(){
		"wheatear": main,
		"jigwav":   clitest.Jigwav,
	})
}

// tidy runs the tests and takes away what they share.
type tidy struct{ m *testing.M }

func (t tidy) Run() int {
	defer os.RemoveAll(demoFolder)
	defer clitest.OwnNotebook()()
	defer clitest.CloseBrowser()
	return t.m.Run()
}

// TestScripts runs testdata/script; go test -run 'Scripts/NAME' runs one of them.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Setup: func(env *testscript.Env) error {
			env.Setenv(notebook.Env, env.WorkDir+"/notebook.db")
			env.Setenv("XDG_DATA_HOME", env.WorkDir+"/data")
			for name, text := range map[string]string{"jig.toml": clitest.Jig, "bench.toml": clitest.LiveJig, "tray.toml": clitest.Tray} {
				if err := os.WriteFile(env.WorkDir+"/"+name, []byte(text), 0o666); err != nil {
					return err
				}
			}
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"status": scriptStatus,
			"narrow": scriptNarrow,
			"json":   scriptJSON,

			"conforms": scriptConforms,
			"csv":      scriptCSV,
			"within":   scriptWithin,
		},
	})
}

// scriptStatus runs a command and checks its exit status: status N COMMAND ARGS…
func scriptStatus(ts *testscript.TestScript, neg bool, args []string) {
	want, err := strconv.Atoi(args[0])
	if neg || err != nil {
		ts.Fatalf("usage: status N command …")
	}
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// scriptNarrow checks that a person can read the streams or files named in 80
// columns.
func scriptNarrow(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		for _, line := range strings.Split(ts.ReadFile(name), "\n") {
			if n := utf8.RuneCountInString(line); n > 80 {
				ts.Fatalf("%s: %d columns: %s", name, n, line)
			}
		}
	}
}

// scriptJSON checks that a stream is one JSON document and nothing else, of the
// schema named, and that what is at a path is what it should be:
//
//	json stdout SCHEMA [PATH VALUE]…
func scriptJSON(ts *testscript.TestScript, neg bool, args []string) {
	text := []byte(ts.ReadFile(args[0]))
	if err := clitest.ConformsText(text); err != nil {
		ts.Fatalf("%v", err)
	}
	var doc map[string]any
	if err := json.Unmarshal(text, &doc); err != nil {
		ts.Fatalf("no JSON: %v", err)
	}
	if got := doc["schema"]; got != args[1] {
		ts.Fatalf("schema %v, want %s", got, args[1])
	}
	for i := 2; i+1 < len(args); i += 2 {
		got := new(bytes.Buffer)
		enc := json.NewEncoder(got)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(walk(doc, args[i])); err != nil {
			ts.Fatalf("%v", err)
		}
		if strings.TrimSpace(got.String()) != args[i+1] {
			ts.Fatalf("%s is %s, want %s", args[i], strings.TrimSpace(got.String()), args[i+1])
		}
	}
}

// scriptConforms checks that each stream or file named holds documents of ours, one or
// several in a row, and nothing else.
func scriptConforms(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		dec, n := json.NewDecoder(strings.NewReader(ts.ReadFile(name))), 0
		for ; dec.More(); n++ {
			var doc map[string]any
			err := dec.Decode(&doc)
			if err == nil {
				err = clitest.Conforms(doc)
			}
			if err != nil {
				ts.Fatalf("%s, document %d: %v", name, n+1, err)
			}
		}
		if n == 0 || neg {
			ts.Fatalf("%s: no document", name)
		}
	}
}

// scriptCSV checks that strict readers take the streams or files named, and what a table
// of readings must have besides.
func scriptCSV(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		if err := clitest.CSVTable([]byte(ts.ReadFile(name))); err != nil || neg {
			ts.Fatalf("%s: %v", name, err)
		}
	}
}

// scriptWithin checks that the interval of a quantity holds a value, and is not
// wider than a tenth of it: within stdout PATH VALUE
func scriptWithin(ts *testscript.TestScript, neg bool, args []string) {
	var doc any
	if err := json.Unmarshal([]byte(ts.ReadFile(args[0])), &doc); err != nil {
		ts.Fatalf("no JSON: %v", err)
	}
	q, _ := walk(doc, args[1]).(map[string]any)
	low, _ := q["low"].(float64)
	high, _ := q["high"].(float64)
	truth, err := strconv.ParseFloat(args[2], 64)
	if err != nil || neg {
		ts.Fatalf("usage: within stdout PATH VALUE")
	}
	if !(low <= truth && truth <= high) || high-low > truth/10 {
		ts.Fatalf("%s is %v to %v, which does not hold %v closely", args[1], q["low"], q["high"], truth)
	}
}

// walk follows a path such as readings.0.z.re_ohm; nil where it leads nowhere.
func walk(v any, path string) any {
	for _, key := range strings.Split(path, ".") {
		switch at := v.(type) {
		case map[string]any:
			v = at[key]
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(at) {
				return nil
			}
			v = at[i]
		default:
			return nil
		}
	}
	return v
}
