package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// sortsKilled kills runs of fifty parts at random moments and goes on with each, with one
// notebook for all: it is sound every time, no part that was written is lost or changed,
// and each finished run is in the notebook with every part once.
func sortsKilled(t *testing.T, kills int) {
	l := newLot(11, "C %.9g + R 2", "100nJ", 100e-9, 0.05)
	dir, args := sortArgs(t, l)
	book := filepath.Join(dir, "n.db")
	t.Setenv(notebook.Env, book)
	random := rand.New(rand.NewPCG(5, 6))
	killed, amid, late, finished, run := 0, 0, 0, 0, 1
	for killed < kills || finished == 0 {
		name := fmt.Sprintf("lot%d.csv", run)
		args[slices.Index(args, "--csv")+1] = name
		file := filepath.Join(dir, name)
		before, _ := os.ReadFile(file)
		cmd, out, talk := program(dir, args...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		ended := make(chan struct{})
		rows := max(0, lines(file)-1)
		if killed%4 == 3 { // one in four when all are read, and the notebook is next
			go kill(cmd.Process, file, len(l.names), time.Duration(random.IntN(80))*time.Millisecond, ended)
		} else {
			go kill(cmd.Process, file, min(len(l.names)-1, rows+random.IntN(20)), time.Duration(random.IntN(60))*time.Millisecond, ended)
		}
		status := ran(t, cmd)
		close(ended)
		after, err := os.ReadFile(file)
		whole := string(before[:strings.LastIndex(string(before), "\n")+1])
		if err == nil && !strings.HasPrefix(string(after), whole) {
			t.Fatalf("kill %d: what was written has changed from\n%s\nto\n%s", killed, before, after)
		}
		switch n := lines(file) - 1; {
		case status == 4: // the outliers do not pass
			finished++
			checkLot(t, l, out.String())
			run++
		case status >= 0:
			t.Fatalf("exit status %d: %s", status, talk)
		default:
			killed++
			if n > 0 && n < len(l.names) {
				amid++
			} else if n == len(l.names) {
				late++
			}
		}
		checkLots(t, book, l, finished)
	}
	t.Logf("%d kills, %d of them amid a run and %d behind its last part; %d runs finished, all in the notebook with every part once", killed, amid, late, finished)
	if amid < kills/4 || late < kills/20 {
		t.Errorf("only %d of %d kills hit a run, and %d its end", amid, killed, late)
	}
}

// checkLots reads all of a notebook. A run that was killed between its entry and its end
// is entered again when it is gone on with.
func checkLots(t *testing.T, file string, l lot, finished int) {
	t.Helper()
	if _, err := os.Stat(file); os.IsNotExist(err) && finished == 0 {
		return
	}
	ctx := context.Background()
	n, list := soundBook(t, ctx, file, "sort", finished)
	for _, e := range list {
		whole, err := n.Get(ctx, e.ID)
		if err != nil {
			t.Fatal(err)
		}
		var run sortedRun
		if err := json.Unmarshal(whole.Result, &run); err != nil || len(run.Parts) != len(l.names) {
			t.Fatalf("entry %d: %d parts, %v", e.ID, len(run.Parts), err)
		}
		for i, p := range run.Parts {
			if p.Number != i+1 || p.Name != l.names[i] {
				t.Errorf("entry %d: in place %d is part %d, %s", e.ID, i+1, p.Number, p.Name)
			}
		}
	}
}

func TestSoakSortKilled(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	sortsKilled(t, 100)
}
