package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// steps bring a notebook from each version to the next; the first makes a new one.
// What has been released is never changed: a new version is a new step.
var steps = []string{`
CREATE TABLE document (
	sha256 TEXT PRIMARY KEY,
	name   TEXT NOT NULL,
	body   TEXT NOT NULL
) STRICT;
CREATE TABLE entry (
	id       INTEGER PRIMARY KEY AUTOINCREMENT,
	key      TEXT NOT NULL UNIQUE,
	at_us    INTEGER NOT NULL, -- since 1970, UTC
	kind     TEXT NOT NULL,
	schema   TEXT NOT NULL,
	label    TEXT NOT NULL,
	note     TEXT NOT NULL,
	command  TEXT NOT NULL,
	jig      TEXT NOT NULL,    -- name
	basis    TEXT NOT NULL,    -- sum of all that it rests on
	trusted  INTEGER NOT NULL,
	verdict  TEXT NOT NULL,
	findings TEXT NOT NULL,    -- codes, with spaces between
	files    TEXT NOT NULL     -- JSON list of names
) STRICT;
CREATE INDEX entry_time ON entry (at_us, id);
CREATE INDEX entry_label ON entry (label, at_us);
CREATE INDEX entry_kind ON entry (kind, at_us);
CREATE TABLE result (
	entry INTEGER PRIMARY KEY REFERENCES entry ON DELETE CASCADE,
	body  TEXT NOT NULL
) STRICT;
CREATE TABLE point (
	entry    INTEGER NOT NULL REFERENCES entry ON DELETE CASCADE,
	n        INTEGER NOT NULL,
	freq_hz  REAL NOT NULL,
	state    TEXT NOT NULL,
	trusted  INTEGER NOT NULL,
	quantity TEXT NOT NULL,
	unit     TEXT NOT NULL,
	value    REAL,
	u        REAL,
	low      REAL, -- 95 % interval
	high     REAL,
	PRIMARY KEY (entry, n)
) STRICT, WITHOUT ROWID;
CREATE TABLE basis (
	entry  INTEGER NOT NULL REFERENCES entry ON DELETE CASCADE,
	n      INTEGER NOT NULL,
	role   TEXT NOT NULL,
	sha256 TEXT NOT NULL, -- in document
	PRIMARY KEY (entry, n)
) STRICT, WITHOUT ROWID;
CREATE TABLE record (
	entry  INTEGER NOT NULL REFERENCES entry ON DELETE CASCADE,
	n      INTEGER NOT NULL,
	sha256 TEXT NOT NULL,
	name   TEXT NOT NULL,
	PRIMARY KEY (entry, n)
) STRICT, WITHOUT ROWID;
CREATE INDEX record_sum ON record (sha256);
CREATE VIRTUAL TABLE words USING fts5 (
	label, note, kind, jig, verdict, findings, files,
	content = 'entry', content_rowid = 'id', prefix = '2 3'
);
CREATE TRIGGER entry_added AFTER INSERT ON entry BEGIN
	INSERT INTO words (rowid, label, note, kind, jig, verdict, findings, files)
	VALUES (new.id, new.label, new.note, new.kind, new.jig, new.verdict, new.findings, new.files);
END;
CREATE TRIGGER entry_removed AFTER DELETE ON entry BEGIN
	INSERT INTO words (words, rowid, label, note, kind, jig, verdict, findings, files)
	VALUES ('delete', old.id, old.label, old.note, old.kind, old.jig, old.verdict, old.findings, old.files);
END;
CREATE TRIGGER entry_changed AFTER UPDATE ON entry BEGIN
	INSERT INTO words (words, rowid, label, note, kind, jig, verdict, findings, files)
	VALUES ('delete', old.id, old.label, old.note, old.kind, old.jig, old.verdict, old.findings, old.files);
	INSERT INTO words (rowid, label, note, kind, jig, verdict, findings, files)
	VALUES (new.id, new.label, new.note, new.kind, new.jig, new.verdict, new.findings, new.files);
END;
`, `
ALTER TABLE entry ADD COLUMN seal TEXT NOT NULL DEFAULT ''; -- SHA-256 of what lists show
ALTER TABLE entry ADD COLUMN records_seal TEXT NOT NULL DEFAULT ''; -- and of the names of recordings
`,
	`-- Points are the main figures of readings, with their circuit: see refigure.`}

// figured is the version from which on points are the main figures.
const figured = 3

// Version is that of the files this program writes.
var Version = len(steps)

// applicationID marks our files among those of SQLite: the letters "whtr".
const applicationID = 0x77687472

// identity is what a file says of itself. A new one says nothing.
type identity struct {
	application, version, tables int
}

// querier is a database or a transaction.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// identify asks in one statement: between two, another process may have made the tables.
func identify(ctx context.Context, db querier) (id identity, err error) {
	const query = `SELECT application_id, user_version, (SELECT count(*) FROM sqlite_schema)
		FROM pragma_application_id, pragma_user_version`
	err = db.QueryRowContext(ctx, query).Scan(&id.application, &id.version, &id.tables)
	return id, err
}

// check refuses files of other programs and of newer versions of this one.
func (id identity) check(steps []string) error {
	switch {
	case id.tables > 0 && id.application != applicationID:
		return ErrDamaged
	case id.version > len(steps):
		return fmt.Errorf("the file has version %d, and this program knows versions up to %d: %w", id.version, len(steps), ErrNewer)
	}
	return nil
}

// migrate brings a file to the version of the last step. Before it changes one that
// holds anything it makes a copy, while no other process can write.
func (n *Notebook) migrate(ctx context.Context, steps []string) error {
	id, err := identify(ctx, n.db)
	if err == nil {
		err = id.check(steps)
	}
	if err != nil || id.version == len(steps) {
		return err
	}
	if id.version == 0 {
		if err := n.logAhead(ctx); err != nil {
			return err
		}
	}
	return n.write(ctx, func(tx *sql.Tx) error {
		id, err := identify(ctx, tx) // another process may have been faster
		if err == nil {
			err = id.check(steps)
		}
		if err == nil && id.version > 0 && id.version < len(steps) {
			if err = n.backup(ctx, id.version); err != nil {
				err = fmt.Errorf("no copy of version %d could be made, so that the file was left as it is: %w", id.version, err)
			}
		}
		if err != nil {
			return err
		}
		return bring(ctx, tx, id.version, steps)
	})
}

// logAhead switches to a write-ahead log. SQLite waits for no other process that does
// so at the same moment, but says at once that the file is locked.
func (n *Notebook) logAhead(ctx context.Context) error {
	for began := time.Now(); ; time.Sleep(time.Millisecond) {
		var mode string
		err := n.db.QueryRowContext(ctx, "PRAGMA journal_mode = WAL").Scan(&mode)
		if !errors.Is(n.explain(err), ErrLocked) || time.Since(began) > n.wait {
			return err
		}
	}
}

// bring takes the steps from a version on.
func bring(ctx context.Context, tx *sql.Tx, version int, steps []string) error {
	for v := version; v < len(steps); v++ {
		if _, err := tx.ExecContext(ctx, steps[v]); err != nil {
			return fmt.Errorf("from version %d to %d: %w", v, v+1, err)
		}
		if v+1 == figured {
			if err := refigure(ctx, tx); err != nil {
				return fmt.Errorf("from version %d to %d: %w", v, v+1, err)
			}
		}
	}
	_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, len(steps)))
	return err
}

// BackupOf names the copy that is made of a file before its version is left behind.
func BackupOf(file string, version int) string { return fmt.Sprintf("%s.version%d", file, version) }

// backup makes that copy, whole or not at all, in place of one that an attempt which
// failed may have left. It reads by a connection of its own, as the one that holds the
// others off cannot.
func (n *Notebook) backup(ctx context.Context, version int) error {
	to := BackupOf(n.file, version)
	part, err := os.CreateTemp(filepath.Dir(to), filepath.Base(to)+".*.part")
	if err != nil {
		return err
	}
	defer os.Remove(part.Name()) // in vain once it has its name
	if err := part.Close(); err != nil {
		return err
	}
	if _, err := n.db.ExecContext(ctx, "VACUUM INTO ?", part.Name()); err != nil {
		return err
	}
	return os.Rename(part.Name(), to)
}
