package main

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// sweepsKilled kills real sweeps at random moments and goes on with each, with one
// notebook for all: it is sound every time, no sweep that was finished is missing in
// it, no point that was written is lost from the sweep's file.
func sweepsKilled(t *testing.T, kills int) {
	ctx := context.Background()
	dir := files(t, map[string]string{"jig.toml": quickJig, "tray.toml": quickTray})
	book := filepath.Join(dir, "n.db")
	t.Setenv(notebook.Env, book)
	const points = 25
	args := strings.Fields("sweep --jig jig.toml --at 300..2k/25 --part film --json")
	state := filepath.Join(dir, "sweep-unfinished.json")
	random := rand.New(rand.NewPCG(3, 4))
	finished, amid, killed := 0, 0, 0
	for killed < kills || finished == 0 {
		before := pointsIn(t, state)
		run := args
		if before > 0 {
			run = []string{"sweep", "--resume", state, "--json"}
		}
		cmd, out, talk := program(dir, run...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		timer := time.AfterFunc(time.Duration(random.IntN(400))*time.Millisecond, func() { cmd.Process.Kill() })
		status := ran(t, cmd)
		stopped := !timer.Stop()
		switch after := pointsIn(t, state); {
		case status == 0 || status == 3:
			finished++
			if s := sweptOf(t, out.String()); len(s.Readings) != points {
				t.Fatalf("a sweep of %d points", len(s.Readings))
			}
		case !stopped:
			t.Fatalf("exit status %d without having been killed: %s", status, talk)
		default:
			killed++
			if after > 0 {
				amid++
			} else if before > 0 { // killed behind its last point
				finished++
			}
			if 0 < after && after < before {
				t.Fatalf("%d points were there before a kill, %d after it", before, after)
			}
		}
		if finished > 0 {
			checkBook(t, ctx, book, finished)
		}
	}
	t.Logf("%d kills, %d of them amid a sweep, %d sweeps finished, all in the notebook", killed, amid, finished)
	if amid < kills/4 {
		t.Errorf("only %d of %d kills hit a sweep", amid, killed)
	}
}

// pointsIn counts the points in the file of a sweep, which must be whole.
func pointsIn(t *testing.T, file string) int {
	t.Helper()
	text, err := os.ReadFile(file)
	if os.IsNotExist(err) {
		return 0
	}
	var state struct {
		Points []json.RawMessage `json:"points"`
	}
	if err == nil {
		err = json.Unmarshal(text, &state)
	}
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return len(state.Points)
}

// checkBook reads all of a notebook. A sweep that was killed between its entry and its
// end is entered again when it is gone on with.
func checkBook(t *testing.T, ctx context.Context, file string, finished int) {
	t.Helper()
	_, list := soundBook(t, ctx, file, "sweep", finished)
	for _, e := range list {
		if len(e.Points) != 25 {
			t.Errorf("entry %d has %d points", e.ID, len(e.Points))
		}
	}
}

// soundBook opens a notebook that must be sound and hold as many entries of a kind as
// were finished.
func soundBook(t *testing.T, ctx context.Context, file string, kind notebook.Kind, finished int) (*notebook.Notebook, []*notebook.Entry) {
	t.Helper()
	n, err := notebook.Open(ctx, file)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { n.Close() })
	if err := n.Check(ctx); err != nil {
		t.Fatal(err)
	}
	list, err := n.List(ctx, notebook.Filter{Kind: kind})
	if err != nil || len(list) < finished {
		t.Fatalf("%d entries (%s) in the notebook, %d were finished: %v", len(list), kind, finished, err)
	}
	return n, list
}

func TestSweepsKilled(t *testing.T) { sweepsKilled(t, 8) }

func TestSoakSweepsKilled(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	sweepsKilled(t, 200)
}
