package notebook

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// modes of the process that is killed.
var modes = []string{"readings", "sweeps", "batches", "import", "prune"}

// writeUntilKilled adds entries and prints the key of each that has been added.
func writeUntilKilled(file, mode string) {
	ctx := context.Background()
	fail := func(err error) {
		if err != nil {
			fmt.Println("failed:", err)
			os.Exit(1)
		}
	}
	n, err := Open(ctx, file)
	fail(err)
	for i := 0; ; i++ {
		var list []*Entry
		switch mode {
		case "sweeps":
			list = []*Entry{sweep(fmt.Sprintf("sweep %d of %d", i, os.Getpid()), 31)}
		case "batches", "import":
			for k := range 8 {
				list = append(list, now(fmt.Sprintf("part %d.%d of %d", i, k, os.Getpid())))
			}
		default:
			list = []*Entry{now(fmt.Sprintf("part %d of %d", i, os.Getpid()))}
		}
		if mode == "prune" {
			trash := now("trash")
			_, err := n.Add(ctx, trash)
			fail(err)
			_, err = n.Prune(ctx, Excess{Label: "trash", Before: time.Now().Add(time.Hour)})
			fail(err)
		}
		if mode == "import" {
			fail(importOf(ctx, n, list))
		} else {
			_, err := n.AddAll(ctx, list)
			fail(err)
		}
		var keys strings.Builder
		for _, e := range list {
			keys.WriteString(e.Key + "\n")
		}
		os.Stdout.WriteString(keys.String())
	}
}

// importOf brings entries in by way of an export.
func importOf(ctx context.Context, n *Notebook, list []*Entry) error {
	var text bytes.Buffer
	for _, e := range list {
		if err := e.complete(); err != nil {
			return err
		}
		for _, d := range e.Documents {
			if err := encodeLine(&text, documentLine{documentSchema, d.SHA256, d.Name, d.Text}); err != nil {
				return err
			}
		}
		if err := encodeLine(&text, lineOf(e)); err != nil {
			return err
		}
	}
	_, _, err := n.Import(ctx, bytes.NewReader(text.Bytes()))
	return err
}

// now is a reading made now.
func now(label string) *Entry {
	e := capacitor(0, label, 1e-7, 1e-10)
	e.Time = time.Now()
	return e
}

// sweep is one of many points.
func sweep(label string, points int) *Entry {
	var list []string
	for i := range points {
		list = append(list, fmt.Sprintf(`{"frequency_nominal_hz": %d, "state": "ok", "trusted": true, "dominant": "resistor", "series": {"r_ohm": {"value": 470, "u": 0.1, "low": 469.8, "high": 470.2}}}`, 20*(i+1)))
	}
	return &Entry{Time: time.Now(), Label: label, Result: []byte(`{"schema": "wheatear.sweep/1", "jig": "j", "readings": [` + strings.Join(list, ",") + `]}`)}
}

// kill starts a process that writes, kills it a time after its start, or after the
// first entry it has finished, and returns the keys of what it had added.
func kill(t *testing.T, file, mode string, begun bool, after time.Duration) (keys []string) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), writerEnv+"="+file, writerEnv+"_MODE="+mode)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	in := bufio.NewReader(out)
	if begun { // a busy computer may take longer to start a process than any fixed time
		_, _ = in.Peek(1)
	}
	timer := time.AfterFunc(after, func() { cmd.Process.Kill() })
	defer timer.Stop()
	text, err := io.ReadAll(in)
	if err != nil {
		t.Error(err)
	}
	if err := cmd.Wait(); err == nil || strings.Contains(string(text), "failed") {
		t.Fatalf("%s: it ended by itself: %v, %s", mode, err, text)
	}
	for _, key := range strings.Fields(string(text)) {
		if isSum(key) { // the last may have been cut off
			keys = append(keys, key)
		}
	}
	return keys
}

// killed kills processes at random moments and checks each time that the file is
// sound and that everything whose adding was finished is there.
func killed(t *testing.T, rounds int) {
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "notebook.db")
	random := rand.New(rand.NewPCG(1, 2))
	var all []string // finished since the file was begun
	total := 0
	for round := range rounds {
		mode := modes[round%len(modes)]
		if round%40 == 39 { // now and then the first moments of a file are hit
			file, all = filepath.Join(t.TempDir(), fmt.Sprintf("notebook%d.db", round)), nil
		}
		keys := kill(t, file, mode, round%4 != 3, time.Duration(random.IntN(100))*time.Millisecond)
		all, total = append(all, keys...), total+len(keys)
		n, err := Open(ctx, file)
		if err != nil {
			t.Fatalf("round %d, %s: %v", round, mode, err)
		}
		if err := n.Check(ctx); err != nil {
			t.Errorf("round %d, %s: %v", round, mode, err)
		}
		there := map[string]bool{}
		for _, e := range listed(t, n, Filter{}) {
			there[e.Key] = true
			if len(e.Points) == 0 {
				t.Errorf("round %d, %s: entry %d is not whole", round, mode, e.ID)
			}
		}
		for _, key := range all {
			if !there[key] {
				t.Fatalf("round %d, %s: an entry that was finished is lost", round, mode)
			}
		}
		if err := n.Close(); err != nil {
			t.Error(err)
		}
	}
	if total < rounds {
		t.Errorf("only %d entries were finished in %d rounds: too few to lose any", total, rounds)
	}
	t.Logf("%d processes killed, %d entries finished, none lost", rounds, total)
}

func TestKilledWhileWriting(t *testing.T) { killed(t, 20) }

func TestSoakKilledWhileWriting(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	killed(t, 200)
}
