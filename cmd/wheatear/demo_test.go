package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/cli"
)

// demonstrated runs the demo once for all tests that look at it, in a folder of
// its own, which TestMain takes away.
var demonstrated = sync.OnceValues(func() (out string, err error) {
	var o, talk bytes.Buffer
	if status := cli.Run(context.Background(), []string{"demo", "--keep", demoFolder}, strings.NewReader(""), &o, &talk); status != 0 {
		return "", fmt.Errorf("the demo ends with %d: %s", status, talk.String())
	}
	if !strings.Contains(talk.String(), demoFolder) {
		return "", fmt.Errorf("the demo does not say where its folder is: %s", talk.String())
	}
	return o.String(), nil
})

// demoFolder is removed at the end of all tests.
var demoFolder = filepath.Join(os.TempDir(), fmt.Sprintf("wheatear-demo-test-%d-%d", os.Getpid(), time.Now().UnixNano()))

// demoRow is a line of the table: part, frequency, truth, reading, verdict.
var demoRow = regexp.MustCompile(`(?m)^  ([a-z-]+) +([\d.]+ k?Hz) +([\d.]+) (\S+) +([\d.]+) ± ([\d.]+) (\S+) +(covers it|misses it)$`)

// What the table says of an interval is so, and it is counted right.
func TestDemoTable(t *testing.T) {
	out, err := demonstrated()
	if err != nil {
		t.Fatal(err)
	}
	checkNarrow(t, out)
	if strings.Contains(out, "refused") {
		t.Errorf("a reading was refused: %s", out)
	}
	rows := demoRow.FindAllStringSubmatch(out, -1)
	if len(rows) != strings.Count(out, " covers it\n")+strings.Count(out, " misses it\n") || len(rows) < 10 {
		t.Fatalf("%d rows are understood: %s", len(rows), out)
	}
	held := 0
	for _, r := range rows {
		var truth, value, half float64
		if _, err := fmt.Sscan(r[3]+" "+r[5]+" "+r[6], &truth, &value, &half); err != nil || r[4] != r[7] {
			t.Errorf("%s: %v", r[0], err)
		}
		// Rounding moves both by half of the last digit, a fiftieth of the half width at most.
		inside := truth-value <= 1.1*half && value-truth <= 1.1*half
		outside := truth-value >= 0.9*half || value-truth >= 0.9*half
		if r[8] == "covers it" && !inside || r[8] == "misses it" && !outside {
			t.Errorf("this is not so: %s", r[0])
		}
		if r[8] == "covers it" {
			held++
		}
	}
	if count := fmt.Sprintf("%d of %d intervals cover", held, len(rows)); !strings.Contains(strings.Join(strings.Fields(out), " "), count) {
		t.Errorf("the count is not %q: %s", count, out)
	}
	if held < len(rows)-2 { // of 12 at 95 %, more than two miss once in 50 times
		t.Errorf("%d of %d intervals cover the true value", held, len(rows))
	}
}

// Everything that is promised is in the folder, and the commands in it work and
// give what the demo gave.
func TestDemoByHand(t *testing.T) {
	t.Parallel()
	out, err := demonstrated()
	if err != nil {
		t.Fatal(err)
	}
	commands, err := os.ReadFile(filepath.Join(demoFolder, "commands.txt"))
	if err != nil {
		t.Fatal(err)
	}
	ran := 0
	for _, line := range strings.Split(string(commands), "\n") {
		args, ok := strings.CutPrefix(line, "wheatear ")
		if !ok {
			if line != "" && line[0] != '#' {
				t.Errorf("neither command nor remark: %s", line)
			}
			continue
		}
		ran++
		said, _ := done(t, demoFolder, strings.Fields(args)...)
		if strings.Contains(args, "measure") && strings.Contains(args, "valve-coil") {
			sameReadings(t, args, out, said)
		}
	}
	if ran < 6 {
		t.Errorf("only %d commands", ran)
	}
	for _, name := range []string{"jig.toml", "tray.toml", "cal.json", "valve-coil.svg", "valve-coil.csv", "supply-electrolytic.svg", "again.json", "again.svg", "recordings/open-1.wav"} {
		if info, err := os.Stat(filepath.Join(demoFolder, name)); err != nil || info.Size() == 0 {
			t.Errorf("%s is missing or empty", name)
		}
	}
}

// sameReadings wants the coil's readings of the demo's table in a table of measure: the
// same values, and half-widths that differ by no more than rounding, as the demo keeps
// more of its calibration than a file does.
func sameReadings(t *testing.T, line, demo, measured string) {
	t.Helper()
	for _, r := range demoRow.FindAllStringSubmatch(demo, -1) {
		if r[1] != "valve-coil" {
			continue
		}
		_, after, _ := strings.Cut(measured, r[5]+" ± ")
		half, unit, _ := strings.Cut(after, " ")
		was, err := strconv.ParseFloat(r[6], 64)
		now, err2 := strconv.ParseFloat(half, 64)
		if err != nil || err2 != nil || math.Abs(now/was-1) > 0.02 || !strings.HasPrefix(unit, r[7]) {
			t.Errorf("wheatear %s: does not give %s ± %s %s: %s", line, r[5], r[6], r[7], measured)
		}
	}
}

// A folder in which there is something is left alone.
func TestDemoNeedsAnEmptyFolder(t *testing.T) {
	dir := files(t, map[string]string{"notes.txt": "mine"})
	if status, seen := wheatear("demo --keep " + dir); status != 1 || !strings.Contains(seen, "is not empty") {
		t.Errorf("status %d: %s", status, seen)
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 {
		t.Errorf("%v: %v", entries, err)
	}
}
