package notebook

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Filter says which entries are meant: those that all of its fields that are set
// agree with.
type Filter struct {
	Text    string    // words, or their beginnings, in label, note, kind, jig, verdict, findings or names of files
	Label   string    // exactly, or with * and ? for any letters
	Kind    Kind      // see Kind
	Verdict string    // pass, fail, undecided, …
	Since   time.Time // at that time or later
	Until   time.Time // before that time
	IDs     []int64   // one of these; nil for all

	Limit int // that many of the newest; 0 for all
	Skip  int // without that many of the newest
}

// from is where the entries are found, in SQL.
func (f Filter) from() (text string, args []any) {
	var all []string
	add := func(condition string, arg any) {
		all, args = append(all, condition), append(args, arg)
	}
	text = " FROM entry e"
	if words := matched(f.Text); words != "" {
		// Where a word is in most entries, only this order of joining stops early.
		text = " FROM words w CROSS JOIN entry e ON e.id = w.rowid"
		add("w.words MATCH ?", words)
	}
	switch {
	case strings.ContainsAny(f.Label, "*?"):
		add("e.label GLOB ?", strings.ReplaceAll(f.Label, "[", "[[]"))
	case f.Label != "":
		add("e.label = ?", f.Label)
	}
	if f.Kind != "" {
		add("e.kind = ?", string(f.Kind))
	}
	if f.Verdict != "" {
		add("e.verdict = ?", f.Verdict)
	}
	if !f.Since.IsZero() {
		add("e.at_us >= ?", f.Since.UnixMicro())
	}
	if !f.Until.IsZero() {
		add("e.at_us < ?", f.Until.UnixMicro())
	}
	if len(f.IDs) > 0 {
		ids, _ := json.Marshal(f.IDs) // numbers always are JSON
		add("e.id IN (SELECT value FROM json_each(?))", string(ids))
	}
	if len(all) > 0 {
		text += " WHERE " + strings.Join(all, " AND ")
	}
	return text, args
}

// page is the order, newest first, and how many.
func (f Filter) page() string {
	limit := f.Limit
	if limit <= 0 {
		limit = -1
	}
	order := "e.id"
	if matched(f.Text) != "" {
		order = "w.rowid"
	}
	return fmt.Sprintf(" ORDER BY %s DESC LIMIT %d OFFSET %d", order, limit, max(0, f.Skip))
}

// matched turns what a person types into a query of the index of words: each word
// must be there, or one that begins so. Nothing in it is an operator.
func matched(text string) string {
	var words []string
	for _, w := range strings.Fields(text) {
		words = append(words, `"`+strings.ReplaceAll(w, `"`, `""`)+`"*`)
	}
	return strings.Join(words, " ")
}

// columns of an entry in a list.
const columns = `SELECT e.id, e.key, e.at_us, e.kind, e.schema, e.label, e.note, e.command, e.jig,
	e.trusted, e.verdict, e.findings, e.files, e.seal, e.records_seal`

// List returns the entries that are meant, the newest first, without what Entry says
// lists leave out. Entries that are not what was written are left out; see Hurt. The
// newest is the one that was added last, whatever the clock said: it may have been set
// back, or the entry imported.
func (n *Notebook) List(ctx context.Context, f Filter) ([]*Entry, error) {
	from, args := f.from()
	list, err := n.entries(ctx, columns+from+f.page(), args...)
	if err == nil {
		err = n.points(ctx, list)
	}
	if errors.Is(n.explain(err), ErrDamaged) {
		if list, err = n.oneByOne(ctx, from, args); err == nil {
			list = list[min(f.Skip, len(list)):]
			if f.Limit > 0 {
				list = list[:min(f.Limit, len(list))]
			}
			err = n.points(ctx, list)
		}
	}
	return n.sound(list), n.explain(err)
}

// Count returns how many entries are meant, whatever Limit and Skip say.
func (n *Notebook) Count(ctx context.Context, f Filter) (count int, err error) {
	from, args := f.from()
	if matched(f.Text) != "" && len(args) == 1 { // the index of words alone counts much faster
		from = " FROM words w WHERE w.words MATCH ?"
	}
	err = n.db.QueryRowContext(ctx, "SELECT count(*)"+from, args...).Scan(&count)
	return count, n.explain(err)
}

// Kinds lists those that there are entries of, in the order of letters.
func (n *Notebook) Kinds(ctx context.Context) (kinds []string, err error) {
	// From one kind to the next by the index, whatever the number of entries.
	rows, err := n.db.QueryContext(ctx, `WITH RECURSIVE k (kind) AS (
		SELECT min(kind) FROM entry UNION ALL SELECT (SELECT min(kind) FROM entry WHERE kind > k.kind) FROM k WHERE k.kind IS NOT NULL
	) SELECT kind FROM k WHERE kind IS NOT NULL`)
	if err != nil {
		return nil, n.explain(err)
	}
	defer rows.Close()
	for rows.Next() {
		var kind string
		if err := rows.Scan(&kind); err != nil {
			return nil, n.explain(err)
		}
		kinds = append(kinds, kind)
	}
	return kinds, n.explain(rows.Err())
}

// Results adds their results to entries of a list.
func (n *Notebook) Results(ctx context.Context, list []*Entry) error {
	for _, e := range list {
		if err := n.result(ctx, e); err != nil {
			return n.explain(err)
		}
	}
	return nil
}

func (n *Notebook) entries(ctx context.Context, query string, args ...any) ([]*Entry, error) {
	return entriesOf(ctx, n.db, query, args...)
}

// asker is a database or a transaction.
type asker interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

func entriesOf(ctx context.Context, db asker, query string, args ...any) ([]*Entry, error) {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []*Entry
	for rows.Next() {
		e, err := scan(rows)
		if err != nil {
			return nil, err
		}
		list = append(list, e)
	}
	return list, rows.Err()
}

// scan reads one row of columns.
func scan(rows *sql.Rows) (*Entry, error) {
	var e Entry
	var us int64
	var kind, findings, files string
	err := rows.Scan(&e.ID, &e.Key, &us, &kind, &e.Schema, &e.Label, &e.Note, &e.Command, &e.JigName,
		&e.Trusted, &e.Verdict, &findings, &files, &e.seal, &e.recordsSeal)
	if err != nil {
		return nil, err
	}
	e.Time, e.Kind, e.Findings = atMicro(us), Kind(kind), strings.Fields(findings)
	e.spoilt = json.Unmarshal([]byte(files), &e.Files) != nil
	return &e, nil
}

// points adds the points to entries, some hundred at a time.
func (n *Notebook) points(ctx context.Context, list []*Entry) error { return pointsOf(ctx, n.db, list) }

func pointsOf(ctx context.Context, db asker, list []*Entry) error {
	const most = 500
	for len(list) > most {
		if err := pointsOf(ctx, db, list[:most]); err != nil {
			return err
		}
		list = list[most:]
	}
	if len(list) == 0 {
		return nil
	}
	at := map[int64]*Entry{}
	var ids []any
	for _, e := range list {
		at[e.ID] = e
		ids = append(ids, e.ID)
	}
	marks := strings.TrimSuffix(strings.Repeat("?,", len(ids)), ",")
	rows, err := db.QueryContext(ctx, "SELECT entry, freq_hz, state, trusted, quantity, unit, value, u, low, high FROM point WHERE entry IN ("+marks+") ORDER BY entry, n", ids...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var p Point
		if err := rows.Scan(&id, &p.FreqHz, &p.State, &p.Trusted, &p.Quantity, &p.Unit, &p.Value, &p.U, &p.Low, &p.High); err != nil {
			return err
		}
		at[id].Points = append(at[id].Points, p)
	}
	return rows.Err()
}
