package lockin_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// A program outside the repository imports the library, through a replace line, and
// builds with Go alone.
func TestOutsideProgramBuilds(t *testing.T) {
	root, err := filepath.Abs("..")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	sums, err := os.ReadFile(filepath.Join(root, "go.sum"))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{
		"go.mod": "module outside.example/bench\n\ngo 1.25.0\n\nrequire " + module + " v0.0.0\n\nreplace " + module + " => " + root + "\n",
		"go.sum": string(sums),
		"main.go": `package main

import (
	"fmt"
	"math"

	"` + module + `/lockin/record"
)

func main() {
	x := make([]float64, 4800)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 1000 / 48000 * float64(i))
	}
	a, err := record.Analyze(record.Signal{RateHz: 48000, Channels: [][]float64{x}}, record.Config{TonesHz: []float64{1000}})
	fmt.Println(len(a.Tones), err)
}
`}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	run := exec.Command("go", "run", "-mod=mod", ".")
	run.Dir = dir
	run.Env = append(run.Environ(), "CGO_ENABLED=0")
	out, err := run.CombinedOutput()
	if err != nil || string(out) != "1 <nil>\n" {
		t.Errorf("%v\n%s", err, out)
	}
}
