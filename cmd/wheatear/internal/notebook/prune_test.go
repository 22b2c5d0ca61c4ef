package notebook

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func count(t *testing.T, n *Notebook, query string) (c int) {
	t.Helper()
	if err := n.db.QueryRow(query).Scan(&c); err != nil {
		t.Fatal(err)
	}
	return c
}

func TestPrune(t *testing.T) {
	ctx := context.Background()
	for name, tc := range map[string]struct {
		x    Excess
		left string
	}{
		"old":                    {Excess{Before: noon.Add(3 * time.Minute)}, "[6 5 4]"},
		"many":                   {Excess{Keep: 2}, "[6 5]"},
		"old and many":           {Excess{Keep: 5, Before: noon.Add(3 * time.Minute)}, "[6 5 4 3 2]"},
		"many, but not old":      {Excess{Keep: 1, Before: noon.Add(2 * time.Minute)}, "[6 5 4 3]"},
		"of a label":             {Excess{Keep: 1, Label: "even"}, "[6 5 4 2]"},
		"of a kind":              {Excess{Before: noon.Add(time.Hour), Kind: "sweep"}, "[6 5 4 3 2 1]"},
		"of a kind, all of them": {Excess{Before: noon.Add(time.Hour), Kind: Reading}, "[]"},
		"nothing":                {Excess{Keep: 6}, "[6 5 4 3 2 1]"},
	} {
		n := fresh(t)
		for i := range 6 {
			e := capacitor(i, []string{"even", "odd"}[i%2], 1e-7, 1e-10)
			e.Documents = []Document{NewDocument(JigFile, "jig.toml", fmt.Sprint(i/2))}
			add(t, n, e)
		}
		would, err := n.WouldPrune(ctx, tc.x)
		if err != nil {
			t.Fatal(err)
		}
		if got := len(listed(t, n, Filter{})); got != 6 {
			t.Errorf("%s: asking took entries away: %d are left", name, got)
		}
		did, err := n.Prune(ctx, tc.x)
		if err != nil || did != would {
			t.Errorf("%s: %+v, would have been %+v, %v", name, did, would, err)
		}
		left := []int64{}
		documents := map[string]bool{}
		for _, e := range listed(t, n, Filter{}) {
			left = append(left, e.ID)
			full, err := n.Get(ctx, e.ID)
			if err != nil {
				t.Fatal(err)
			}
			documents[full.Documents[0].SHA256] = true
		}
		if got := fmt.Sprint(left); got != tc.left || did.Entries != 6-len(left) {
			t.Errorf("%s: left %s, want %s; %+v", name, got, tc.left, did)
		}
		for table, want := range map[string]int{"document": len(documents), "point": len(left), "result": len(left), "basis": len(left)} {
			if got := count(t, n, "SELECT count(*) FROM "+table); got != want {
				t.Errorf("%s: %d rows in %s, want %d", name, got, table, want)
			}
		}
		if err := n.Check(ctx); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		next := capacitor(9, "next", 1e-7, 1e-10) // numbers are not given twice
		if add(t, n, next); next.ID != 7 {
			t.Errorf("%s: the next entry is number %d", name, next.ID)
		}
	}
	if _, err := fresh(t).Prune(ctx, Excess{Label: "even"}); err == nil {
		t.Error("everything of a label went, with no word on what is too much")
	}
}

func TestPruneGivesSpaceBack(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	var list []*Entry
	for i := range 500 {
		list = append(list, capacitor(i, "C1", 1e-7, 1e-10))
	}
	if _, err := n.AddAll(ctx, list); err != nil {
		t.Fatal(err)
	}
	before := count(t, n, "PRAGMA page_count")
	if _, err := n.Prune(ctx, Excess{Keep: 10}); err != nil {
		t.Fatal(err)
	}
	if after := count(t, n, "PRAGMA page_count"); after > before/3 {
		t.Errorf("%d pages of %d", after, before)
	}
}

func TestRecords(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	file := filepath.Join(t.TempDir(), "part.WAV")
	if err := os.WriteFile(file, []byte("sound"), 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := n.KeepRecord(ctx, file)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := n.KeepRecord(ctx, file); err != nil || again != r {
		t.Errorf("%+v, %v", again, err)
	}
	// By sha256sum.
	if want := (Record{"dd29442deca69f52c50006b831cb216edf78a7da33748f0a80ff19f2ebe57ecd", "part.WAV"}); r != want {
		t.Errorf("%+v", r)
	}
	if text, err := os.ReadFile(n.RecordFile(r)); err != nil || string(text) != "sound" {
		t.Errorf("%q, %v", text, err)
	}
	e := capacitor(0, "C1", 1e-7, 1e-10)
	e.Records = []Record{r}
	add(t, n, e)
	stray := filepath.Join(n.RecordsDir(), sum([]byte("noise"))+".wav")
	cut := filepath.Join(n.RecordsDir(), "123.part")
	for _, old := range []string{stray, cut, filepath.Join(n.RecordsDir(), "notes.txt")} {
		if err := os.WriteFile(old, []byte("noise"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if p, err := n.Prune(ctx, Excess{Keep: 1}); err != nil || p.Records != 0 { // one that was just kept may wait for its entry
		t.Errorf("%+v, %v", p, err)
	}
	yesterday := time.Now().Add(-24 * time.Hour)
	for _, old := range []string{stray, cut, n.RecordFile(r)} {
		if err := os.Chtimes(old, yesterday, yesterday); err != nil {
			t.Fatal(err)
		}
	}
	if p, err := n.Prune(ctx, Excess{Keep: 1}); err != nil || p.Records != 2 {
		t.Errorf("%+v, %v", p, err)
	}
	if _, err := os.Stat(n.RecordFile(r)); err != nil {
		t.Errorf("a recording that an entry rests on is gone: %v", err)
	}
	if p, err := n.Prune(ctx, Excess{Before: noon.Add(time.Hour)}); err != nil || p.Records != 1 || p.Entries != 1 {
		t.Errorf("%+v, %v", p, err)
	}
	if left, _ := os.ReadDir(n.RecordsDir()); len(left) != 1 || left[0].Name() != "notes.txt" {
		t.Errorf("left: %v", left)
	}
	if _, err := n.KeepRecord(ctx, filepath.Join(t.TempDir(), "none.wav")); err == nil {
		t.Error("a recording that is not there was kept")
	}
	over, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := n.KeepRecord(over, file); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if left, _ := os.ReadDir(n.RecordsDir()); len(left) != 1 {
		t.Errorf("left: %v", left)
	}
}

func TestPlace(t *testing.T) {
	for name, tc := range map[string]struct {
		system string
		env    map[string]string
		want   string
	}{
		"home":               {"linux", map[string]string{"HOME": "/home/ann"}, "/home/ann/.local/share"},
		"its own folder":     {"linux", map[string]string{"HOME": "/home/ann", "XDG_DATA_HOME": "/data"}, "/data"},
		"not from the root":  {"linux", map[string]string{"HOME": "/home/ann", "XDG_DATA_HOME": "data"}, "/home/ann/.local/share"},
		"macOS":              {"darwin", map[string]string{"HOME": "/Users/ann", "XDG_DATA_HOME": "/data"}, "/Users/ann/Library/Application Support"},
		"Windows":            {"windows", map[string]string{"LocalAppData": "/c/ann"}, "/c/ann"},
		"nowhere":            {"linux", nil, ""},
		"nowhere on Windows": {"windows", map[string]string{"HOME": "/c/ann"}, ""},
	} {
		got, err := dataFolder(tc.system, func(key string) string { return tc.env[key] })
		if filepath.ToSlash(got) != tc.want || (err != nil) != (tc.want == "") {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
	for env, want := range map[string]string{"off": "", "/tmp/n.db": "/tmp/n.db"} {
		t.Setenv(Env, env)
		if got, err := Place(); got != want || err != nil {
			t.Errorf("%s=%s: %q, %v", Env, env, got, err)
		}
	}
	t.Setenv(Env, "")
	t.Setenv("HOME", "/home/ann")
	t.Setenv("LocalAppData", "/home/ann")
	t.Setenv("XDG_DATA_HOME", "")
	if got, err := Place(); err != nil || filepath.Base(got) != "notebook.db" {
		t.Errorf("%q, %v", got, err)
	}
}
