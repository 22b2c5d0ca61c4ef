package notebook

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// Add writes an entry and sets its ID, Key and Summary. An entry that is there
// already, by its Key, is not added again: it gets the ID of that one, and added is
// false. When Add has returned without an error, the entry is on the disk.
func (n *Notebook) Add(ctx context.Context, e *Entry) (added bool, err error) {
	count, err := n.AddAll(ctx, []*Entry{e})
	return count == 1, err
}

// AddAll writes several entries, all or none of them, and returns how many were not
// there yet.
func (n *Notebook) AddAll(ctx context.Context, entries []*Entry) (added int, err error) {
	for i, e := range entries {
		if err := e.complete(); err != nil {
			return 0, fmt.Errorf("notebook: entry %d: %w", i+1, err)
		}
	}
	return n.addComplete(ctx, entries, false)
}

// addComplete adds entries that have been completed; again says that they keep the
// numbers they had.
func (n *Notebook) addComplete(ctx context.Context, entries []*Entry, again bool) (added int, err error) {
	err = n.write(ctx, func(tx *sql.Tx) error {
		a, err := newAdder(ctx, tx)
		if err != nil {
			return err
		}
		defer a.close()
		a.again = again
		for _, e := range entries {
			new, err := a.add(ctx, e)
			if err != nil {
				return err
			}
			if new {
				added++
			}
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}

// adder is a transaction with the statements that adding needs.
type adder struct {
	document, entry, result, basis, point, record, there *sql.Stmt
	all                                                  []*sql.Stmt
	again                                                bool
}

func newAdder(ctx context.Context, tx *sql.Tx) (*adder, error) {
	a := &adder{}
	for text, to := range map[string]**sql.Stmt{
		"INSERT OR IGNORE INTO document (sha256, name, body) VALUES (?, ?, ?)": &a.document,
		`INSERT INTO entry (id, key, at_us, kind, schema, label, note, command, jig, basis, trusted, verdict, findings, files, seal, records_seal)
			VALUES (NULLIF(?, 0), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`: &a.entry,
		"INSERT INTO result (entry, body) VALUES (?, ?)":                 &a.result,
		"INSERT INTO basis (entry, n, role, sha256) VALUES (?, ?, ?, ?)": &a.basis,
		`INSERT INTO point (entry, n, freq_hz, state, trusted, quantity, unit, value, u, low, high)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`: &a.point,
		"INSERT INTO record (entry, n, sha256, name) VALUES (?, ?, ?, ?)": &a.record,
		"SELECT id FROM entry WHERE key = ?":                              &a.there,
	} {
		stmt, err := tx.PrepareContext(ctx, text)
		if err != nil {
			a.close()
			return nil, err
		}
		*to = stmt
		a.all = append(a.all, stmt)
	}
	return a, nil
}

func (a *adder) close() {
	for _, s := range a.all {
		s.Close()
	}
}

// add writes a complete entry.
func (a *adder) add(ctx context.Context, e *Entry) (added bool, err error) {
	var had int64
	if a.again {
		had = e.ID
	}
	switch err := a.there.QueryRowContext(ctx, e.Key).Scan(&e.ID); err {
	case nil:
		return false, nil
	case sql.ErrNoRows:
	default:
		return false, err
	}
	files, err := json.Marshal(append([]string{}, e.Files...))
	if err != nil {
		return false, err
	}
	e.seal, e.recordsSeal = sealOf(e), recordsSeal(e)
	r, err := a.entry.ExecContext(ctx, had, e.Key, e.Time.UnixMicro(), string(e.Kind), e.Schema, e.Label, e.Note, e.Command, e.JigName,
		e.basis(), e.Trusted, e.Verdict, strings.Join(e.Findings, " "), string(files), e.seal, e.recordsSeal)
	if err != nil {
		return false, err
	}
	if e.ID, err = r.LastInsertId(); err != nil {
		return false, err
	}
	return true, a.rest(ctx, e)
}

// rest writes what belongs to an entry.
func (a *adder) rest(ctx context.Context, e *Entry) error {
	if _, err := a.result.ExecContext(ctx, e.ID, string(e.Result)); err != nil {
		return err
	}
	for i, d := range e.Documents {
		if _, err := a.document.ExecContext(ctx, d.SHA256, d.Name, d.Text); err != nil {
			return err
		}
		if _, err := a.basis.ExecContext(ctx, e.ID, i, d.Role, d.SHA256); err != nil {
			return err
		}
	}
	if err := a.points(ctx, e); err != nil {
		return err
	}
	for i, r := range e.Records {
		if _, err := a.record.ExecContext(ctx, e.ID, i, r.SHA256, r.Name); err != nil {
			return err
		}
	}
	return nil
}

// points writes the points of an entry.
func (a *adder) points(ctx context.Context, e *Entry) error {
	for i, p := range e.Points {
		if _, err := a.point.ExecContext(ctx, e.ID, i, p.FreqHz, p.State, p.Trusted, p.Quantity, p.Unit, p.Value, p.U, p.Low, p.High); err != nil {
			return err
		}
	}
	return nil
}

// atMicro is the time of an entry.
func atMicro(us int64) time.Time { return time.UnixMicro(us).UTC() }
