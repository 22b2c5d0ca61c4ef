package notebook

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// exportedLines is what an export writes, and what it has left out.
func exportedLines(t *testing.T, n *Notebook) (lines map[string]bool, hurt error) {
	t.Helper()
	var text bytes.Buffer
	if _, err := n.Export(context.Background(), &text, Filter{}); err != nil {
		return nil, err
	}
	lines = map[string]bool{}
	for line := range strings.Lines(text.String()) {
		lines[line] = true
	}
	return lines, n.Hurt()
}

// A bit that turns anywhere in the file changes nothing that is exported, listed or shown
// without a word: what is hurt is left out and named, or the file is refused.
func TestTurnedBitsAreSeen(t *testing.T) {
	ctx := context.Background()
	file := filled(t, 12)
	good, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	n := opened(t, file, config{steps: steps, waitMs: waitMs})
	whole, _ := exportedLines(t, n)
	entries := map[string]bool{}
	for _, e := range listed(t, n, Filter{}) {
		entries[sealOf(e)] = true
	}
	n.Close()
	draw := rand.New(rand.NewPCG(1, 2))
	rounds := 120
	if *soak {
		rounds = 5000
	}
	named, refused, unread := 0, 0, 0
	for range rounds {
		at, bit := draw.IntN(len(good)), byte(1)<<draw.IntN(8)
		bad := bytes.Clone(good)
		bad[at] ^= bit
		file := filepath.Join(t.TempDir(), "n.db")
		if err := os.WriteFile(file, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		n, err := Open(ctx, file)
		if err != nil {
			refused++
			continue
		}
		lines, hurt := exportedLines(t, n)
		list, listErr := n.List(ctx, Filter{})
		if hurt == nil {
			hurt = n.Hurt()
		}
		for line := range lines {
			if !whole[line] {
				t.Errorf("byte %d, bit %#x: exported otherwise without a word: %.300s", at, bit, line)
			}
		}
		for _, e := range list {
			if !entries[sealOf(e)] {
				t.Errorf("byte %d, bit %#x: entry %d listed otherwise", at, bit, e.ID)
			}
		}
		switch {
		case lines == nil || listErr != nil:
			refused++
		case hurt != nil:
			named++
		case len(lines) < len(whole) || len(list) < len(entries):
			t.Errorf("byte %d, bit %#x: %d of %d lines, %d of %d entries, and nothing named", at, bit, len(lines), len(whole), len(list), len(entries))
		default:
			unread++
		}
		n.Close()
	}
	t.Logf("%d bits turned: %d left entries out by name, %d refused the file, %d nowhere that is read", rounds, named, refused, unread)
}

// flip turns one bit of a column of an entry.
func flip(t *testing.T, n *Notebook, table, column, where string) {
	t.Helper()
	var text string
	if err := n.db.QueryRow("SELECT " + column + " FROM " + table + " WHERE " + where).Scan(&text); err != nil {
		t.Fatal(err)
	}
	bad := []byte(text)
	bad[len(bad)/2] ^= 1
	if _, err := n.db.Exec("UPDATE "+table+" SET "+column+" = ? WHERE "+where, string(bad)); err != nil {
		t.Fatal(err)
	}
}

// Each kind of damage is named; the other entries come out; and what has a second copy
// of any kind is mended.
func TestHurtEntriesAreNamedAndMended(t *testing.T) {
	ctx := context.Background()
	for name, c := range map[string]struct {
		hurt   func(*Notebook)
		says   string
		mended bool
	}{
		"result": {func(n *Notebook) { flip(t, n, "result", "body", "entry = 2") }, "result", true},
		"two bits": {func(n *Notebook) {
			change(t, n, "UPDATE result SET body = replace(body, '1000', '1234') WHERE entry = 2")
		}, "result", false},
		"label":   {func(n *Notebook) { flip(t, n, "entry", "label", "id = 2") }, "label", true},
		"key":     {func(n *Notebook) { flip(t, n, "entry", "key", "id = 2") }, "result", true},
		"seal":    {func(n *Notebook) { flip(t, n, "entry", "seal", "id = 2") }, "summary", true},
		"command": {func(n *Notebook) { flip(t, n, "entry", "command", "id = 2") }, "result", true},
		"time": {func(n *Notebook) {
			change(t, n, "UPDATE entry SET at_us = at_us + CASE WHEN at_us & 1048576 THEN -1048576 ELSE 1048576 END WHERE id = 2")
		}, "result", true},
		"a value": {func(n *Notebook) { change(t, n, "UPDATE point SET value = value * 2 WHERE entry = 2") }, "summary", true},
		"trust":   {func(n *Notebook) { change(t, n, "UPDATE entry SET trusted = 1 - trusted WHERE id = 2") }, "summary", true},
		"recordings": {func(n *Notebook) {
			change(t, n, "INSERT INTO record (entry, n, sha256, name) VALUES (2, 0, 'aa', 'other.wav')")
		}, "recordings", true},
		"no result":   {func(n *Notebook) { change(t, n, "DELETE FROM result WHERE entry = 2") }, "", false},
		"file column": {func(n *Notebook) { change(t, n, "UPDATE entry SET files = '[' WHERE id = 2") }, "label", true},
	} {
		t.Run(name, func(t *testing.T) {
			n := opened(t, filled(t, 3), config{steps: steps, waitMs: waitMs})
			before, _ := exportedLines(t, n)
			c.hurt(n)
			lines, hurt := exportedLines(t, n)
			if !errors.Is(hurt, ErrHurt) || !strings.Contains(hurt.Error(), "number 2)") || !strings.Contains(hurt.Error(), "notebook check") {
				t.Fatalf("named: %v", hurt)
			}
			if len(lines) != len(before)-1 {
				t.Errorf("%d lines, want %d without the hurt one", len(lines), len(before)-1)
			}
			if _, err := n.Get(ctx, 2); err == nil {
				t.Error("it is shown as if nothing were wrong")
			}
			x, err := n.Examine(ctx, nil)
			if err != nil || x.Left() != 1 || x.Problems[0].Entry != 2 || !strings.Contains(x.Problems[0].What, c.says) {
				t.Fatalf("%+v, %v; want %q of entry 2", x, err, c.says)
			}
			x, err = n.Examine(ctx, &Mend{})
			if err != nil || len(x.Problems) != 1 || x.Problems[0].Mended != c.mended {
				t.Fatalf("%+v, %v; want mended %v", x, err, c.mended)
			}
			if !c.mended {
				return
			}
			n = opened(t, n.file, config{steps: steps, waitMs: waitMs})
			after, hurt := exportedLines(t, n)
			if hurt != nil {
				t.Errorf("mended, and then %v", hurt)
			}
			if name != "recordings" && name != "file column" && fmt.Sprint(after) != fmt.Sprint(before) {
				t.Error("mended, it is exported otherwise")
			}
			if x, err = n.Examine(ctx, nil); err != nil || len(x.Problems) != 0 {
				t.Errorf("looked at again: %+v, %v", x, err)
			}
		})
	}
}

func change(t *testing.T, n *Notebook, text string) {
	t.Helper()
	if r, err := n.db.Exec(text); err != nil {
		t.Fatal(err)
	} else if count, _ := r.RowsAffected(); count == 0 {
		t.Fatalf("%s changed nothing", text)
	}
}

// A result that more than a bit is wrong with is made again from the recordings that
// are kept beside the notebook, if it comes out the same to the last digit.
func TestMendedFromRecordings(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	wav := filepath.Join(t.TempDir(), "part.wav")
	if err := os.WriteFile(wav, []byte("samples"), 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := n.KeepRecord(ctx, wav)
	if err != nil {
		t.Fatal(err)
	}
	e := capacitor(0, "C1", 1e-7, 1e-10)
	e.Records = []Record{r}
	add(t, n, e)
	was := bytes.Clone(e.Result)
	spoil := func() { change(t, n, "UPDATE result SET body = replace(body, 'ok', 'xxx') WHERE entry = 1") }
	redo := func(result string) *Mend {
		return &Mend{Redo: func(_ context.Context, e *Entry, records []string) (json.RawMessage, error) {
			if len(records) != 1 || records[0] != n.RecordFile(r) {
				return nil, fmt.Errorf("recordings %q", records)
			}
			return json.RawMessage(result), nil
		}}
	}
	spoil()
	if x, err := n.Examine(ctx, redo(`{"schema": "wheatear.measure/1"}`)); err != nil || x.Left() != 1 || !strings.Contains(x.Problems[0].What, "comes out otherwise") {
		t.Errorf("another result: %+v, %v", x, err)
	}
	if x, err := n.Examine(ctx, redo(string(was))); err != nil || x.Left() != 0 || x.Records != 1 {
		t.Errorf("%+v, %v", x, err)
	}
	if got, err := n.Get(ctx, 1); err != nil || !bytes.Equal(got.Result, was) {
		t.Errorf("%v", err)
	}
	if err := os.WriteFile(n.RecordFile(r), []byte("simples"), 0o600); err != nil {
		t.Fatal(err)
	}
	if x, err := n.Examine(ctx, nil); err != nil || x.Left() != 1 || !strings.Contains(x.Problems[0].What, "not what was kept") {
		t.Errorf("a hurt recording: %+v, %v", x, err)
	}
}
