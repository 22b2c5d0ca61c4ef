package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Get returns an entry with everything. One that is not what was written is returned
// together with an error that wraps ErrHurt.
func (n *Notebook) Get(ctx context.Context, id int64) (*Entry, error) {
	e, err := n.get(ctx, id)
	return e, n.explain(err)
}

func (n *Notebook) get(ctx context.Context, id int64) (*Entry, error) {
	list, err := n.entries(ctx, columns+" FROM entry e WHERE e.id = ?", id)
	if err != nil {
		return nil, err
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("%w with the number %d", ErrUnknown, id)
	}
	if err := errors.Join(n.points(ctx, list), n.fill(ctx, list[0])); err != nil {
		return nil, err
	}
	return list[0], list[0].verify()
}

// fill adds what lists leave out.
func (n *Notebook) fill(ctx context.Context, e *Entry) error {
	if err := n.result(ctx, e); err != nil {
		return err
	}
	return errors.Join(n.documents(ctx, e), n.records(ctx, e))
}

func (n *Notebook) result(ctx context.Context, e *Entry) error {
	return n.db.QueryRowContext(ctx, "SELECT body FROM result WHERE entry = ?", e.ID).Scan((*[]byte)(&e.Result))
}

func (n *Notebook) documents(ctx context.Context, e *Entry) error {
	rows, err := n.db.QueryContext(ctx, `SELECT b.role, b.sha256, d.name, d.body FROM basis b JOIN document d ON d.sha256 = b.sha256
		WHERE b.entry = ? ORDER BY b.n`, e.ID)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var d Document
		if err := rows.Scan(&d.Role, &d.SHA256, &d.Name, &d.Text); err != nil {
			return err
		}
		e.Documents = append(e.Documents, d)
	}
	return rows.Err()
}

func (n *Notebook) records(ctx context.Context, e *Entry) error {
	rows, err := n.db.QueryContext(ctx, "SELECT sha256, name FROM record WHERE entry = ? ORDER BY n", e.ID)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var r Record
		if err := rows.Scan(&r.SHA256, &r.Name); err != nil {
			return err
		}
		e.Records = append(e.Records, r)
	}
	return rows.Err()
}

// Describe changes label and note of an entry, which are all that may be changed.
func (n *Notebook) Describe(ctx context.Context, id int64, label, note string) error {
	e, err := n.Get(ctx, id)
	if err != nil {
		return err
	}
	e.Label, e.Note = label, note
	return n.write(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, "UPDATE entry SET label = ?, note = ?, seal = ? WHERE id = ?", label, note, sealOf(e), id)
		if err != nil {
			return err
		}
		if count, err := r.RowsAffected(); err != nil || count == 0 {
			return errors.Join(err, fmt.Errorf("%w with the number %d", ErrUnknown, id))
		}
		return nil
	})
}
