package lockin_test

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const module = "example.org/wheatear"

// Who may import whom. Arrows run one way: a package may use those named here and
// what they use, nothing else of this module.
var mayImport = map[string][]string{
	"lockin/internal/order":    {},
	"lockin/internal/errkind":  {},
	"lockin/internal/num":      {"lockin/internal/order"},
	"lockin/internal/phase":    {},
	"lockin/internal/fold":     {"lockin/internal/num", "lockin/internal/phase"},
	"lockin/internal/filter":   {"lockin/internal/phase"},
	"lockin/internal/follow":   {"lockin/internal/phase"},
	"lockin/internal/joint":    {"lockin/internal/num"},
	"lockin/internal/trouble":  {"lockin/finding", "lockin/internal/num"},
	"lockin/internal/oracle":   {"lockin/internal/num", "lockin/internal/phase"},
	"lockin/internal/testkit":  {},
	"lockin/internal/drawnjig": {},
	"lockin":                   {"lockin/internal/fold", "lockin/internal/filter", "lockin/internal/follow", "lockin/internal/phase", "lockin/record"},
	"lockin/finding":           {},
	"lockin/spectrum":          {"lockin/internal/phase"},
	"lockin/spectrum/welch":    {"lockin/spectrum", "lockin/internal/phase"},
	"lockin/stimulus":          {"lockin/internal/joint", "lockin/internal/num", "lockin/internal/phase"},
	"lockin/record": {"lockin/finding", "lockin/spectrum", "lockin/internal/fold", "lockin/internal/joint",
		"lockin/internal/num", "lockin/internal/phase", "lockin/internal/trouble"},
	"lockin/uncertain":           {"lockin/internal/errkind"},
	"lockin/parts":               {"lockin/internal/errkind"},
	"lockin/impedance":           {"lockin/internal/errkind", "lockin/finding", "lockin/internal/order", "lockin/uncertain"},
	"lockin/fixture":             {"lockin/internal/errkind", "lockin/record", "lockin/finding", "lockin/uncertain", "lockin/parts", "lockin/impedance", "lockin/circuit"},
	"lockin/level":               {"lockin/internal/errkind", "lockin/uncertain", "lockin/impedance", "lockin/fixture"},
	"lockin/circuit":             {"lockin/internal/errkind", "lockin/uncertain", "lockin/parts"},
	"lockin/incircuit":           {"lockin/internal/errkind", "lockin/uncertain", "lockin/parts", "lockin/impedance", "lockin/circuit"},
	"lockin/identify":            {"lockin/uncertain", "lockin/parts", "lockin/circuit"},
	"lockin/batch":               {"lockin/internal/errkind", "lockin/parts"},
	"lockin/touchstone":          {"lockin/internal/errkind"},
	"lockin/jigcheck":            {"lockin/internal/errkind", "lockin", "lockin/record", "lockin/spectrum", "lockin/spectrum/welch", "lockin/finding", "lockin/uncertain", "lockin/fixture"},
	"lockin/predict":             {"lockin/internal/errkind", "lockin/record", "lockin/stimulus", "lockin/finding", "lockin/uncertain", "lockin/parts", "lockin/impedance", "lockin/fixture"},
	"audio":                      {},
	"audio/wave":                 {"audio"},
	"audio/virtual":              {"audio"},
	"audio/audiotest":            {"audio", "audio/wave"},
	"audio/kept":                 {"audio", "audio/wave"},
	"audio/portaudio":            {"audio"},
	"audio/portaudio/servertest": {"audio", "audio/virtual"},
}

// What the library must never reach, at any depth, and why.
var banned = map[string]string{
	"net":         "a library that measures opens no connection",
	"net/http":    "a library that measures opens no connection",
	"runtime/cgo": "the library builds with Go alone",
	"C":           "the library builds with Go alone",
}

// What the library must not import itself: fmt reaches os anyway.
var bannedDirectly = map[string]string{
	"os":  "the library opens no file; it is given bytes",
	"log": "the library prints nothing",
}

func TestImportsRunOneWay(t *testing.T) {
	for _, line := range goList(t, "{{.ImportPath}} {{join .Imports \" \"}}", module+"/lockin/...", module+"/audio/...") {
		fields := strings.Fields(line)
		pkg := strings.TrimPrefix(fields[0], module+"/")
		allowed, listed := mayImport[pkg]
		if !listed {
			t.Errorf("%s is not in the list of this test: say what it may import", pkg)
		}
		for _, dep := range fields[1:] {
			own, ours := strings.CutPrefix(dep, module+"/")
			if ours && !slices.Contains(allowed, own) {
				t.Errorf("%s imports %s; arrows run one way, see the list in this test", pkg, own)
			}
		}
	}
}

func TestTheLibraryStandsAlone(t *testing.T) {
	for _, dep := range goList(t, "{{.ImportPath}}", "-deps", module+"/lockin/...") {
		if why := banned[dep]; why != "" {
			t.Errorf("lockin reaches %s: %s", dep, why)
		}
		if strings.HasPrefix(dep, module+"/audio") || strings.HasPrefix(dep, module+"/cmd") {
			t.Errorf("lockin reaches %s: it must not know of sound cards or commands", dep)
		}
	}
	for _, line := range goList(t, "{{.ImportPath}} {{join .Imports \" \"}}", module+"/lockin/...") {
		fields := strings.Fields(line)
		if strings.HasSuffix(fields[0], "/testkit") {
			continue // only tests import it
		}
		for _, dep := range fields[1:] {
			if why := bannedDirectly[dep]; why != "" {
				t.Errorf("%s imports %s: %s", fields[0], dep, why)
			}
			if strings.HasSuffix(dep, "/unstable") {
				t.Errorf("%s imports %s, of which nobody promises anything", fields[0], dep)
			}
		}
	}
}

// Whoever imports lockin alone builds gonum beside it, and no other module.
func TestImportingLockinBringsOneModule(t *testing.T) {
	modules := map[string]bool{}
	for _, line := range goList(t, "{{with .Module}}{{.Path}}{{end}}", "-deps", module+"/lockin") {
		if line != "" && line != module {
			modules[line] = true
		}
	}
	if len(modules) != 1 || !modules["gonum.org/v1/gonum"] {
		t.Errorf("lockin brings %v, want gonum only", modules)
	}
}

// longest is how many lines a file of lockin may have: what is longer has two jobs.
const longest = 350

func TestFilesAreShort(t *testing.T) {
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".go" {
			return err
		}
		if filepath.ToSlash(path) == "record/turned.go" {
			return nil // still in one piece
		}
		data, err := os.ReadFile(path)
		if n := strings.Count(string(data), "\n"); n > longest {
			t.Errorf("%s has %d lines, %d are the most", path, n, longest)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// goList runs go list without C, as on a machine with Go alone.
func goList(t *testing.T, format string, args ...string) []string {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-f", format}, args...)...)
	cmd.Env = append(cmd.Environ(), "CGO_ENABLED=0")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list %v: %v", args, err)
	}
	return strings.Split(strings.TrimSpace(string(out)), "\n")
}
