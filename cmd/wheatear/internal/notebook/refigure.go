package notebook

import (
	"context"
	"database/sql"
	"reflect"
)

// refigure makes the points of all entries anew from their results. Versions before chose
// what a reading is known by on their own, which was not what the command had shown. An
// entry that does not agree with its seal, or whose result cannot be read, is left as it
// is, for the check to find.
func refigure(ctx context.Context, tx *sql.Tx) error {
	ids, err := column[int64](ctx, tx, "SELECT id FROM entry ORDER BY id")
	if err != nil || len(ids) == 0 {
		return err
	}
	a, err := newAdder(ctx, tx)
	if err != nil {
		return err
	}
	defer a.close()
	for _, id := range ids {
		if err := refigureEntry(ctx, tx, a, id); err != nil {
			return err
		}
	}
	return nil
}

func refigureEntry(ctx context.Context, tx *sql.Tx, a *adder, id int64) error {
	list, err := entriesOf(ctx, tx, columns+" FROM entry e WHERE e.id = ?", id)
	if err == nil && len(list) == 1 {
		err = pointsOf(ctx, tx, list)
	}
	if err != nil {
		return err
	}
	bodies, err := column[string](ctx, tx, "SELECT body FROM result WHERE entry = ?", id)
	if err != nil || len(bodies) != 1 || len(list) != 1 {
		return err
	}
	e := list[0]
	_, is, failed := summarise([]byte(bodies[0]))
	if failed != nil || e.spoilt || e.seal != "" && e.seal != sealOf(e) || reflect.DeepEqual(is.Points, e.Points) {
		return nil
	}
	e.Points = is.Points
	if _, err := tx.ExecContext(ctx, "DELETE FROM point WHERE entry = ?", id); err != nil {
		return err
	}
	if err := a.points(ctx, e); err != nil || e.seal == "" {
		return err
	}
	_, err = tx.ExecContext(ctx, "UPDATE entry SET seal = ? WHERE id = ?", sealOf(e), id)
	return err
}

// column reads one column.
func column[T any](ctx context.Context, tx asker, query string, args ...any) (list []T, err error) {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var v T
		if err := rows.Scan(&v); err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, rows.Err()
}
