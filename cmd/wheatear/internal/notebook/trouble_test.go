package notebook

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// wants checks that an error has its cause, and names the file and what to do.
func wants(t *testing.T, err, cause error, words ...string) {
	t.Helper()
	if !errors.Is(err, cause) {
		t.Fatalf("%v, want %v", err, cause)
	}
	for _, w := range append(words, advice[cause], "notebook: ") {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q does not say %q", err, w)
		}
	}
}

// filled is a notebook of some entries that is closed.
func filled(t *testing.T, entries int) (file string) {
	t.Helper()
	n := fresh(t)
	for i := range entries {
		add(t, n, capacitor(i, fmt.Sprint("C", i), 1e-7, 1e-10))
	}
	if err := n.Close(); err != nil {
		t.Fatal(err)
	}
	return n.file
}

func TestNewerFile(t *testing.T) {
	file := filled(t, 1)
	n := opened(t, file, config{steps: steps, waitMs: waitMs})
	if _, err := n.db.Exec("PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	n.Close()
	before, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Open(context.Background(), file)
	wants(t, err, ErrNewer, file, "version 99", fmt.Sprintf("up to %d", Version))
	_, err = OpenToRead(context.Background(), file)
	wants(t, err, ErrNewer)
	if after, _ := os.ReadFile(file); !bytes.Equal(before, after) {
		t.Error("the file was changed")
	}
}

func TestDamagedFiles(t *testing.T) {
	ctx := context.Background()
	good, err := os.ReadFile(filled(t, 200))
	if err != nil {
		t.Fatal(err)
	}
	spoil := func(from, to int) []byte {
		bad := bytes.Clone(good)
		for i := from; i < to; i++ {
			bad[i] ^= 0x55
		}
		return bad
	}
	for name, content := range map[string][]byte{
		"a text":           bytes.Repeat([]byte("name = \"jig\"\n"), 300),
		"a short text":     []byte("hello"),
		"head spoilt":      spoil(0, 100),
		"schema spoilt":    spoil(100, 4096),
		"cut in half":      good[:len(good)/2/4096*4096],
		"middle spoilt":    spoil(len(good)/3, 2*len(good)/3),
		"everything after": spoil(8192, len(good)),
	} {
		file := filepath.Join(t.TempDir(), "n.db")
		if err := os.WriteFile(file, content, 0o600); err != nil {
			t.Fatal(err)
		}
		n, err := Open(ctx, file)
		if err == nil {
			_, err = n.List(ctx, Filter{})
			if err == nil {
				err = n.Check(ctx)
			}
			if closed := n.Close(); closed != nil {
				t.Errorf("%s: %v", name, closed)
			}
		}
		if !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), file) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestFilesOfOthers(t *testing.T) {
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "addresses.db")
	db, err := sql.Open("sqlite", file)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec("CREATE TABLE address (name TEXT)"); err != nil {
		t.Fatal(err)
	}
	_, err = Open(ctx, file)
	wants(t, err, ErrDamaged, file)
	_, err = Open(ctx, t.TempDir())
	wants(t, err, ErrNoFile)
	if runtime.GOOS == "linux" {
		pipe := filepath.Join(t.TempDir(), "pipe")
		if out, err := exec.Command("mkfifo", pipe).CombinedOutput(); err != nil {
			t.Skipf("no pipe: %v %s", err, out)
		}
		_, err = Open(ctx, pipe) // must not wait for somebody to write
		wants(t, err, ErrNoFile)
	}
}

func TestEmptyFileIsBegun(t *testing.T) {
	file := filepath.Join(t.TempDir(), "n.db")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	add(t, opened(t, file, config{steps: steps, waitMs: waitMs}), capacitor(0, "C1", 1e-7, 1e-10))
}

func TestLockedFile(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	add(t, n, capacitor(0, "C1", 1e-7, 1e-10))
	tx, err := n.db.BeginTx(ctx, nil) // another process in the middle of writing
	if err != nil {
		t.Fatal(err)
	}
	other := opened(t, n.file, config{steps: steps, waitMs: 30})
	_, err = other.Add(ctx, capacitor(1, "C2", 1e-7, 1e-10))
	wants(t, err, ErrLocked, n.file)
	if got := len(listed(t, other, Filter{})); got != 1 {
		t.Errorf("%d entries can be read meanwhile", got)
	}
	time.AfterFunc(20*time.Millisecond, func() { tx.Rollback() })
	patient := opened(t, n.file, config{steps: steps, waitMs: waitMs})
	add(t, patient, capacitor(2, "C3", 1e-7, 1e-10))
}

func TestFileLockedWhole(t *testing.T) {
	file := filled(t, 1)
	db, err := sql.Open("sqlite", config{}.dsn(file)+"&_pragma=locking_mode(EXCLUSIVE)")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("BEGIN EXCLUSIVE; UPDATE entry SET note = 'mine'"); err != nil {
		t.Fatal(err)
	}
	_, err = open(context.Background(), file, config{steps: steps, waitMs: 30})
	wants(t, err, ErrLocked, file)
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	n := fresh(t)
	cancel()
	if _, err := n.Add(ctx, capacitor(0, "C1", 1e-7, 1e-10)); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if _, err := n.List(ctx, Filter{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// A file that may not grow stands for a full disk, where none can be had.
func TestNoRoom(t *testing.T) {
	ctx := context.Background()
	n := opened(t, filepath.Join(t.TempDir(), "n.db"), config{steps: steps, waitMs: waitMs, maxPages: 80})
	fillUp(t, n)
	if err := n.Check(ctx); err != nil {
		t.Error(err)
	}
}

// fillUp adds entries until there is no room, and checks that all that were finished
// are there.
func fillUp(t *testing.T, n *Notebook) {
	t.Helper()
	done := 0
	for ; done < 10000; done++ {
		e := capacitor(done, fmt.Sprint("C", done), 1e-7, 1e-10)
		if _, err := n.Add(context.Background(), e); err != nil {
			wants(t, err, ErrFull, n.file)
			break
		}
	}
	if done < 5 || done == 10000 {
		t.Fatalf("full after %d entries", done)
	}
	if got := len(listed(t, n, Filter{})); got != done {
		t.Errorf("%d entries where %d were finished", got, done)
	}
}

// mounted is a small disk of its own; without the right to have one the test is
// skipped.
func mounted(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no disk of its own may be mounted: %v %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", "-l", dir).CombinedOutput(); err != nil {
			t.Errorf("%v %s", err, out)
		}
	})
	return dir
}

func TestFullDisk(t *testing.T) {
	dir := mounted(t, "400k")
	n := opened(t, filepath.Join(dir, "n.db"), config{steps: steps, waitMs: waitMs})
	fillUp(t, n)
	n.Close()
	n, err := OpenToRead(context.Background(), n.file)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	if err := n.Check(context.Background()); err != nil && !errors.Is(err, ErrFull) {
		t.Error(err)
	}
	// Not even the file can be begun.
	if err := os.WriteFile(filepath.Join(dir, "rest"), make([]byte, 1<<20), 0o600); !errors.Is(err, syscall.ENOSPC) {
		t.Fatal(err)
	}
	_, err = Open(context.Background(), filepath.Join(dir, "another.db"))
	wants(t, err, ErrFull)
}

func TestReadOnlyDisk(t *testing.T) {
	ctx := context.Background()
	dir := mounted(t, "4m")
	text, err := os.ReadFile(filled(t, 3))
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "n.db")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("mount", "-o", "remount,ro", dir).CombinedOutput(); err != nil {
		t.Skipf("%v %s", err, out)
	}
	_, err = Open(ctx, file)
	wants(t, err, ErrReadOnly, file)
	_, err = Open(ctx, filepath.Join(dir, "folder", "n.db"))
	wants(t, err, ErrReadOnly)
	n, err := OpenToRead(ctx, file)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	if got := len(listed(t, n, Filter{Text: "C1"})); got != 1 {
		t.Errorf("%d entries can be read", got)
	}
	_, err = n.Add(ctx, capacitor(9, "C9", 1e-7, 1e-10))
	wants(t, err, ErrReadOnly)
}

func TestOpenToReadMakesNothing(t *testing.T) {
	file := filepath.Join(t.TempDir(), "n.db")
	if _, err := OpenToRead(context.Background(), file); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("%v", err)
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("reading made a file")
	}
}

func TestSeveralWriters(t *testing.T) {
	const writers, each = 4, 25
	file := filepath.Join(t.TempDir(), "n.db")
	var wait sync.WaitGroup
	for w := range writers {
		wait.Go(func() {
			n, err := Open(context.Background(), file) // all of them find that there is none yet
			if err != nil {
				t.Error(err)
				return
			}
			defer n.Close()
			for i := range each {
				if added, err := n.Add(context.Background(), capacitor(i, fmt.Sprintf("C%d.%d", w, i), 1e-7, 1e-10)); err != nil || !added {
					t.Errorf("writer %d: added %v, %v", w, added, err)
				}
			}
		})
	}
	wait.Wait()
	n := opened(t, file, config{steps: steps, waitMs: waitMs})
	if got := len(listed(t, n, Filter{})); got != writers*each {
		t.Errorf("%d entries of %d", got, writers*each)
	}
	if err := n.Check(context.Background()); err != nil {
		t.Error(err)
	}
}
