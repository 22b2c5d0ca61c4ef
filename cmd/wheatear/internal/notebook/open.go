package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	_ "modernc.org/sqlite" // the driver
)

// Notebook is an open file.
type Notebook struct {
	db   *sql.DB
	file string
	wait time.Duration // for another process to finish writing

	mu   sync.Mutex
	hurt map[int64]bool // entries that reading has left out
}

// waitMs is how long one process waits for another to finish writing. Adding an
// entry takes a few milliseconds.
const waitMs = 2000

// config is what tests change.
type config struct {
	steps    []string
	maxPages int // of the database; 0 for no limit
	waitMs   int
	readOnly bool
}

// Open opens a notebook for reading and writing, and makes a new one where there is
// none, with its folder. Errors are an *Error whose cause tells what is wrong.
func Open(ctx context.Context, file string) (*Notebook, error) {
	return open(ctx, file, config{steps: steps, waitMs: waitMs})
}

// OpenToRead opens a notebook that exists. Where nothing can be written, on a medium
// for reading only for example, it can be read all the same.
func OpenToRead(ctx context.Context, file string) (*Notebook, error) {
	if _, err := os.Stat(file); err != nil {
		return nil, explain(file, err)
	}
	n, err := Open(ctx, file)
	if errors.Is(err, ErrReadOnly) {
		return open(ctx, file, config{steps: steps, waitMs: waitMs, readOnly: true})
	}
	return n, err
}

func open(ctx context.Context, file string, c config) (*Notebook, error) {
	file, err := filepath.Abs(file)
	if err == nil && !c.readOnly {
		err = os.MkdirAll(filepath.Dir(file), 0o700)
	}
	if err == nil {
		err = ordinary(file)
	}
	if err == nil && !c.readOnly {
		err = writable(file)
	}
	if err != nil {
		return nil, explain(file, err)
	}
	db, err := sql.Open("sqlite", c.dsn(file))
	if err != nil {
		return nil, explain(file, err)
	}
	n := &Notebook{db: db, file: file, wait: time.Duration(c.waitMs) * time.Millisecond}
	if c.readOnly {
		var id identity
		if id, err = identify(ctx, db); err == nil {
			err = id.check(c.steps)
		}
		if err == nil && id.version != len(c.steps) {
			err = fmt.Errorf("version %d must be brought to version %d first: %w", id.version, len(c.steps), ErrReadOnly)
		}
	} else {
		err = n.migrate(ctx, c.steps)
	}
	if err != nil {
		db.Close()
		return nil, explain(file, err)
	}
	return n, nil
}

// ordinary refuses what is no file: opening a pipe, for example, would wait for ever.
func ordinary(file string) error {
	info, err := os.Stat(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil && !info.Mode().IsRegular() {
		err = ErrNoFile
	}
	return err
}

// writable finds out whether a file may be written, and makes it if it is not there:
// SQLite would say of any trouble with that only that it cannot open the file.
func writable(file string) error {
	f, err := os.OpenFile(file, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// dsn is what the driver wants to know.
func (c config) dsn(file string) string {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		fmt.Sprintf("busy_timeout(%d)", c.waitMs), "foreign_keys(1)", "synchronous(FULL)",
	}}
	if c.maxPages > 0 {
		q.Add("_pragma", fmt.Sprintf("max_page_count(%d)", c.maxPages))
	}
	if c.readOnly {
		q.Set("mode", "ro")
		q.Set("immutable", "1")
	}
	path := filepath.ToSlash(file)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // a drive letter
	}
	return "file://" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
}

// File is the name of the file, from the root.
func (n *Notebook) File() string { return n.file }

// Close gives the file back.
func (n *Notebook) Close() error { return n.explain(n.db.Close()) }

// Check reads the whole file and returns an error where it is damaged.
func (n *Notebook) Check(ctx context.Context) error {
	var said string
	err := n.db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&said)
	if err == nil && said != "ok" {
		err = fmt.Errorf("%s: %w", said, ErrDamaged)
	}
	if err == nil {
		_, err = n.db.ExecContext(ctx, "INSERT INTO words (words, rank) VALUES ('integrity-check', 1)")
	}
	return n.explain(err)
}

// write does something as a whole or not at all.
func (n *Notebook) write(ctx context.Context, do func(tx *sql.Tx) error) error {
	tx, err := n.db.BeginTx(ctx, nil)
	if err != nil {
		return n.explain(err)
	}
	if err := do(tx); err != nil {
		_ = tx.Rollback() // SQLite has often done so already; what led here is what matters
		return n.explain(err)
	}
	return n.explain(tx.Commit())
}
