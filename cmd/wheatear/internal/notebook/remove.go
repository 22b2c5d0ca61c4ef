package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Remove takes one entry away and returns it whole, for Restore. Kept recordings stay
// until Prune finds that no entry rests on them. ErrUnknown: there is no such entry.
func (n *Notebook) Remove(ctx context.Context, id int64) (*Entry, error) {
	e, err := n.Get(ctx, id)
	if err != nil {
		return nil, err
	}
	return e, n.write(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, "DELETE FROM entry WHERE id = ?", id)
		if err != nil {
			return err
		}
		if count, err := r.RowsAffected(); err != nil || count == 0 {
			return errors.Join(err, fmt.Errorf("%w with the number %d", ErrUnknown, id))
		}
		return nil
	})
}

// Restore puts an entry back that Remove took away, under the number that it had. One
// that is there stays as it is.
func (n *Notebook) Restore(ctx context.Context, e *Entry) error {
	_, err := n.addComplete(ctx, []*Entry{e}, true)
	return err
}
