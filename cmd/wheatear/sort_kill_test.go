package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// lot is a run of fifty parts of one kind, four of which are not what they should be.
type lot struct {
	expect   string
	tray     string
	names    []string
	spread   float64 // standard deviation really drawn among those that are
	outliers []int   // numbers, from 1
}

// newLot draws a lot from a production whose standard deviation is a third of the
// tolerance, cut off where its maker sorts. Outliers lie at twice the tolerance or farther.
func newLot(seed uint64, circuit, expect string, nominal, tolerance float64) lot {
	rng := rand.New(rand.NewPCG(seed, 0x10a))
	l := lot{expect: expect}
	var good []float64
	outliers := map[int]bool{}
	for len(outliers) < 4 {
		outliers[rng.IntN(50)] = true
	}
	for i := range 50 {
		value := nominal * (1 + tolerance*math.Max(-0.94, math.Min(rng.NormFloat64()/3, 0.94)))
		if outliers[i] {
			value = nominal * (1 + tolerance*(2+2*rng.Float64())*float64(1-2*rng.IntN(2)))
			l.outliers = append(l.outliers, i+1)
		} else {
			good = append(good, value)
		}
		l.names = append(l.names, fmt.Sprintf("p%02d", i+1))
		l.tray += fmt.Sprintf("[[part]]\nname = %q\ncircuit = %q\n", l.names[i], fmt.Sprintf(circuit, value))
	}
	mean := 0.0
	for _, v := range good {
		mean += v / float64(len(good))
	}
	for _, v := range good {
		l.spread += (v - mean) * (v - mean) / float64(len(good)-1)
	}
	l.spread = math.Sqrt(l.spread)
	l.tray += "[jig]\ncontact_spread = \"0.5m\"\nfixture_spread = \"0.02p\"\n[faults]\nlatency_frames = 100\nnoise = [\"4u\", \"4u\"]\ngain = [0, \"3m\"]\nbits = 24\n"
	return l
}

// sortedRun is what sort --json tells.
type sortedRun struct {
	Parts []struct {
		Number  int
		Name    string
		Verdict string
	}
	Spread   float64
	Outliers []int
}

// sortArgs is the command, in a folder with jig, tray and calibration.
func sortArgs(t *testing.T, l lot) (dir string, args []string) {
	t.Helper()
	dir = files(t, map[string]string{"jig.toml": quickJig, "tray.toml": l.tray})
	done(t, dir, "calibrate", "--jig", "jig.toml", "--at", "1k", "--load", "1k/0.1%", "--out", "cal.json")
	return dir, []string{"sort", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "1k", "--expect", l.expect, "--bins", "1%,2%,5%", "--csv", "lot.csv", "--json"}
}

// A run of fifty parts is killed again and again, at moments that nobody chose, and
// goes on each time: no part is lost or doubled, and what comes out is what was drawn.
func TestSortKilledAndResumed(t *testing.T) {
	l := newLot(7, "C %.9g + R 2", "100nJ", 100e-9, 0.05)
	dir, args := sortArgs(t, l)
	rng := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 1))
	amid := 0 // kills with some parts done
	rows := 0
	for kills := 0; ; {
		cmd, out, talk := program(dir, args...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		killed := make(chan struct{})
		if kills < 6 {
			go kill(cmd.Process, filepath.Join(dir, "lot.csv"), rows+1+rng.IntN(9), time.Duration(rng.IntN(40))*time.Millisecond, killed)
		}
		status := ran(t, cmd)
		close(killed)
		if status < 0 || status > 4 {
			kills++
			if n := lines(filepath.Join(dir, "lot.csv")) - 1; n > rows && n < len(l.names) {
				rows = n
				amid++
			}
			continue
		}
		if status != 4 { // the outliers do not pass
			t.Fatalf("exit status %d: %s", status, talk)
		}
		checkLot(t, l, out.String())
		break
	}
	if amid < 3 {
		t.Errorf("killed in the middle %d times, want 3 or more", amid)
	}
}

// kill kills a process a moment after a file has so many parts, unless it has ended.
func kill(p *os.Process, file string, parts int, later time.Duration, ended <-chan struct{}) {
	for lines(file)-1 < parts {
		select {
		case <-ended:
			return
		case <-time.After(2 * time.Millisecond):
		}
	}
	time.Sleep(later)
	_ = p.Kill()
}

// lines counts those of a file that are whole.
func lines(file string) int {
	text, _ := os.ReadFile(file)
	return strings.Count(string(text), "\n")
}

// Kinds and tolerances: all outliers are found, and the spread of the others.
func TestSortFindsOutliersAndSpread(t *testing.T) {
	lots := []lot{newLot(1, "R %.9g", "470/1%", 470, 0.01)}
	if *soak {
		lots = append(lots, newLot(2, "L %.9g + R 3", "10mH/10%", 10e-3, 0.1))
		for seed := range uint64(6) {
			lots = append(lots, newLot(10+seed, "R %.9g", "10k/5%", 10e3, 0.05), newLot(20+seed, "C %.9g + R 0.1", "2u2M", 2.2e-6, 0.2),
				newLot(30+seed, "C %.9g", "10n/2%", 10e-9, 0.02), newLot(40+seed, "L %.9g + R 30", "100mH/5%", 0.1, 0.05))
		}
	}
	for _, l := range lots {
		t.Run(strings.ReplaceAll(l.expect, "/", " "), func(t *testing.T) {
			dir, args := sortArgs(t, l)
			cmd, out, talk := program(dir, args...)
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			if status := ran(t, cmd); status != 4 {
				t.Fatalf("exit status %d: %s", status, talk)
			}
			checkLot(t, l, out.String())
		})
	}
}

// A recording that cannot be read is put down as such, and not binned.
func TestSortUnreadRecording(t *testing.T) {
	dir := files(t, map[string]string{"jig.toml": quickJig, "tray.toml": quickTray})
	done(t, dir, "measure", "--jig", "jig.toml", "--at", "1k", "--part", "film", "--keep", "kept")
	done(t, dir, "measure", "--jig", "jig.toml", "--at", "2k", "--part", "film", "--keep", "kept")
	cmd, out, talk := program(dir, "sort", "--jig", "jig.toml", "--at", "1k", "--expect", "100n/50%", "--bins", "E12", "--json",
		"--recording", "kept/part-film-1.wav", "--recording", "kept/part-film-2.wav", "--csv", "two.csv")
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if status := ran(t, cmd); status != 3 || !strings.Contains(talk.String(), "2  UNREAD") {
		t.Errorf("exit status %d: %s", status, talk)
	}
	text, err := os.ReadFile(filepath.Join(dir, "two.csv"))
	if err != nil || !strings.Contains(string(text), "100 nF/50 %,1000,,,,,,undecided,,,,,,,,,,\r\n") {
		t.Errorf("%v: %s", err, text)
	}
	var run sortedRun
	if err := errors.Join(clitest.ConformsText(out.Bytes()), json.Unmarshal(out.Bytes(), &run)); err != nil || len(run.Parts) != 2 || !slices.Equal(run.Outliers, []int{2}) {
		t.Errorf("%v: %s", err, out)
	}
}

func checkLot(t *testing.T, l lot, text string) {
	t.Helper()
	var run sortedRun
	if err := errors.Join(clitest.ConformsText([]byte(text)), json.Unmarshal([]byte(text), &run)); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	if len(run.Parts) != len(l.names) {
		t.Fatalf("%d parts, want %d", len(run.Parts), len(l.names))
	}
	for i, p := range run.Parts {
		if p.Number != i+1 || p.Name != l.names[i] {
			t.Errorf("place %d has part %d, %s", i+1, p.Number, p.Name)
		}
		if bad := slices.Contains(l.outliers, p.Number); (p.Verdict == "fail") != bad {
			t.Errorf("part %d: %s, an outlier: %v", p.Number, p.Verdict, bad)
		}
	}
	if !slices.Equal(run.Outliers, l.outliers) {
		t.Errorf("outliers %v, want %v", run.Outliers, l.outliers)
	}
	if off := run.Spread/l.spread - 1; math.Abs(off) > 0.05 {
		t.Errorf("spread %.4g, drawn %.4g: off by %.1f %%", run.Spread, l.spread, 100*off)
	}
}

// Recordings may stand for parts.
func TestSortRecordings(t *testing.T) {
	dir := files(t, map[string]string{"jig.toml": quickJig, "tray.toml": quickTray})
	done(t, dir, "calibrate", "--jig", "jig.toml", "--at", "1k", "--load", "1k/0.1%", "--out", "cal.json")
	for range 3 {
		done(t, dir, "measure", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "1k", "--part", "film", "--keep", "kept")
	}
	args := []string{"sort", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "1k", "--expect", "100nJ", "--csv", "three.csv"}
	for i := range 3 {
		args = append(args, "--recording", fmt.Sprintf("kept/part-film-%d.wav", i+1))
	}
	for range 2 { // the second run finds everything there
		out, _ := done(t, dir, args...)
		if !strings.Contains(out, "3 parts for 100nJ: 3 passed, 0 failed, 0 undecided") {
			t.Errorf("%s", out)
		}
	}
}
