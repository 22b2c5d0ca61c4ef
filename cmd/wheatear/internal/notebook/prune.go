package notebook

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"time"
)

// Excess says what is too much: entries from before a time, or beyond so many of the
// newest. Where both are set, an entry must be both to go.
type Excess struct {
	Before time.Time
	Keep   int // 0 for no such limit
	Kind   Kind
	Label  string
}

// where is the condition in SQL.
func (x Excess) where() (string, []any, error) {
	if x.Before.IsZero() && x.Keep <= 0 {
		return "", nil, fmt.Errorf("notebook: nothing says what is too much: set an age, or how many to keep")
	}
	f := Filter{Kind: x.Kind, Label: x.Label}
	from, args := f.from()
	where := fmt.Sprintf("e.id IN (SELECT e.id%s ORDER BY e.id DESC LIMIT -1 OFFSET %d)", from, max(0, x.Keep))
	if !x.Before.IsZero() {
		where, args = where+" AND e.at_us < ?", append(args, x.Before.UnixMicro())
	}
	return " WHERE " + where, args, nil
}

// Pruned is what pruning takes away.
type Pruned struct {
	Entries int
	Oldest  time.Time // zero for none
	Newest  time.Time
	Records int // recordings that no entry names any more
}

// WouldPrune says what Prune would take away, and changes nothing. It counts no
// recordings.
func (n *Notebook) WouldPrune(ctx context.Context, x Excess) (Pruned, error) {
	where, args, err := x.where()
	if err != nil {
		return Pruned{}, err
	}
	p, err := excess(ctx, n.db, where, args)
	return p, n.explain(err)
}

func excess(ctx context.Context, db querier, where string, args []any) (p Pruned, err error) {
	var oldest, newest sql.NullInt64
	err = db.QueryRowContext(ctx, "SELECT count(*), min(e.at_us), max(e.at_us) FROM entry e"+where, args...).Scan(&p.Entries, &oldest, &newest)
	if oldest.Valid {
		p.Oldest, p.Newest = atMicro(oldest.Int64), atMicro(newest.Int64)
	}
	return p, err
}

// Prune deletes entries, with the documents and kept recordings that no other
// entry rests on, and gives their space back to the disk.
func (n *Notebook) Prune(ctx context.Context, x Excess) (Pruned, error) {
	where, args, err := x.where()
	if err != nil {
		return Pruned{}, err
	}
	var p Pruned
	err = n.write(ctx, func(tx *sql.Tx) error {
		if p, err = excess(ctx, tx, where, args); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM entry WHERE id IN (SELECT e.id FROM entry e"+where+")", args...); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM document WHERE sha256 NOT IN (SELECT sha256 FROM basis)`)
		return err
	})
	if err != nil {
		return Pruned{}, err
	}
	if p.Records, err = n.pruneRecords(ctx); err != nil {
		return p, err
	}
	if p.Entries > 0 {
		_, err = n.db.ExecContext(ctx, "VACUUM")
	}
	return p, n.explain(err)
}

// pruneRecords removes the recordings that no entry names.
func (n *Notebook) pruneRecords(ctx context.Context) (count int, err error) {
	kept, err := n.keptRecords()
	if err != nil {
		return 0, n.explain(err)
	}
	for file, sum := range kept {
		var named bool
		if err := n.db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM record WHERE sha256 = ?)", sum).Scan(&named); err != nil {
			return count, n.explain(err)
		}
		if named || isYoung(file) {
			continue
		}
		if err := os.Remove(file); err != nil {
			return count, n.explain(err)
		}
		count++
	}
	return count, nil
}

// isYoung reports whether a recording may still wait for its entry to be added.
func isYoung(file string) bool {
	info, err := os.Stat(file)
	return err == nil && time.Since(info.ModTime()) < time.Hour
}
