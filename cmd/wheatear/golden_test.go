package main

import (
	"context"
	"flag"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"bytes"

	"example.org/wheatear/cmd/wheatear/internal/cli"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// update rewrites expected outputs: go test ./cmd/wheatear -update
var update = flag.Bool("update", false, "rewrite expected outputs")

// soak runs the long tests, too.
var soak = flag.Bool("soak", false, "run the long tests")

// desk is a directory with a jig file and recordings, where commands are run as
// a person would.
func desk(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	b := clitest.Default()
	tones := []float64{1000, 10000}
	for i, r := range []struct{ file, part string }{
		{"open", "open"}, {"short", "short"}, {"load", "R1000"}, {"part", "R0.5+C100e-9"}, {"coil", "R12+L10e-3"},
		{"resistor", "R470"}, {"huge", "R3e9"}, {"link", "R0.0002"},
	} {
		b.Seed = uint64(i + 1)
		if err := b.Write(filepath.Join(dir, r.file+".wav"), r.part, tones); err != nil {
			t.Fatal(err)
		}
	}
	b.Seed, b.Spoil = 20, "clip"
	if err := b.Write(filepath.Join(dir, "clipped.wav"), "R470", tones[:1]); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"jig.toml": clitest.Jig, "bench.toml": clitest.LiveJig, "tray.toml": clitest.Tray} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	return dir
}

// wheatear runs a command line and returns what a person sees of it.
func wheatear(line string) (status int, seen string) {
	var out bytes.Buffer
	status = cli.Run(context.Background(), strings.Fields(line), strings.NewReader(""), &out, &out)
	return status, out.String()
}

// TestGolden compares what people read with testdata/golden. Numbers may differ
// in their last digit: sums of floats are not the same on every machine.
func TestGolden(t *testing.T) {
	golden, err := filepath.Abs("testdata/golden")
	if err != nil {
		t.Fatal(err)
	}
	desk(t)
	for _, g := range []struct {
		name, line string
		status     int
	}{
		{"stimulus", "stimulus --at 50,1k,~3k --seconds 1 --out tone.wav", 0},
		{"calibrate", "calibrate --jig jig.toml --at 1k,10k --open open.wav --short short.wav --load 1k/0.1%=load.wav --out cal.json", 0},
		{"calibrate-open-only", "calibrate --jig jig.toml --at 1k --open open.wav --out less.json", 0},
		{"calibrate-refused", "calibrate --jig jig.toml --at 1k --open short.wav --out none.json", 3},
		{"capacitor", "measure --jig jig.toml --calibration cal.json --at 1k --recording part.wav", 0},
		{"inductor", "measure --jig jig.toml --calibration cal.json --at 10k --recording coil.wav", 0},
		{"resistor", "measure --jig jig.toml --calibration cal.json --at 1k --recording resistor.wav", 0},
		{"open", "measure --jig jig.toml --calibration cal.json --at 1k --recording huge.wav", 0},
		{"short", "measure --jig jig.toml --calibration cal.json --at 1k --recording link.wav", 0},
		{"sweep", "measure --jig jig.toml --calibration cal.json --at 1k,10k --recording coil.wav", 0},
		{"sweep-recording", "sweep --jig jig.toml --calibration cal.json --at 1k,10k --recording coil.wav", 0},
		{"sweep-together", "sweep --jig bench.toml --at 100..15k/7 --part l10m --together", 0},
		{"uncalibrated", "measure --jig jig.toml --at 1k --recording part.wav", 0},
		{"refused", "measure --jig jig.toml --calibration cal.json --at 1k --recording clipped.wav", 3},
		{"budget", "measure --jig jig.toml --calibration cal.json --at 1k --recording part.wav --budget", 0},
		{"explain", "measure --jig jig.toml --calibration cal.json --at 1k --recording part.wav --explain", 0},
		{"demodulate", "demodulate --recording part.wav --at 1k,10k", 0},
	} {
		t.Run(g.name, func(t *testing.T) {
			status, got := wheatear(g.line)
			got = today.ReplaceAllString(got, "DATE")
			if status != g.status {
				t.Errorf("exit status %d, want %d", status, g.status)
			}
			compareGolden(t, filepath.Join(golden, g.name+".txt"), "$ wheatear "+g.line+"\n"+got)
			checkNarrow(t, got)
		})
	}
}

// today is the day of the calibration in a heading.
var today = regexp.MustCompile(`\d{4}-\d\d-\d\d`)

func compareGolden(t *testing.T, file, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if why := differs(got, string(want)); why != "" {
		t.Errorf("%s\ngot\n%s\nwant\n%s", why, got, want)
	}
}

// figures are the numbers in a text, spaces before them included.
var figures = regexp.MustCompile(` *-?\d+(\.\d+)?`)

// differs says how two texts differ by more than the last digit of a number.
func differs(got, want string) string {
	if figures.ReplaceAllString(got, " #") != figures.ReplaceAllString(want, " #") {
		return "the words differ"
	}
	a, b := figures.FindAllString(got, -1), figures.FindAllString(want, -1)
	for i := range a {
		x, y := strings.TrimSpace(a[i]), strings.TrimSpace(b[i])
		if !nearlySame(x, y) {
			return x + " where " + y + " is wanted"
		}
	}
	return ""
}

// nearlySame allows one unit in the last of the fewer decimals.
func nearlySame(a, b string) bool {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	decimals := min(decimalsOf(a), decimalsOf(b))
	return errX == nil && errY == nil && math.Abs(x-y) <= 1.01*math.Pow(10, -float64(decimals))
}

func decimalsOf(text string) int {
	_, frac, _ := strings.Cut(text, ".")
	return len(frac)
}
