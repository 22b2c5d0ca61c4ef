package notebook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// ErrHurt is found in errors about entries that are not what was written.
var ErrHurt = errors.New("the entry was changed on the disk since it was written")

// HurtError names the entries that reading has left out.
type HurtError struct {
	File    string
	Entries []int64
}

// Error names the first of them.
func (e *HurtError) Error() string {
	const most = 20
	var ids []string
	for _, id := range e.Entries[:min(most, len(e.Entries))] {
		ids = append(ids, fmt.Sprint(id))
	}
	if more := len(e.Entries) - most; more > 0 {
		ids = append(ids, fmt.Sprintf("%d more", more))
	}
	return fmt.Sprintf("notebook: %s: %d not shown: %v (number %s); wheatear notebook check looks at all of it", e.File, len(e.Entries), ErrHurt, strings.Join(ids, ", "))
}

// Unwrap returns ErrHurt.
func (e *HurtError) Unwrap() error { return ErrHurt }

// Hurt returns a *HurtError where reading has left out entries since the notebook was
// opened: what they hold does not agree with their SHA-256.
func (n *Notebook) Hurt() error {
	n.mu.Lock()
	defer n.mu.Unlock()
	if len(n.hurt) == 0 {
		return nil
	}
	e := &HurtError{File: n.file}
	for id := range n.hurt {
		e.Entries = append(e.Entries, id)
	}
	slices.Sort(e.Entries)
	return e
}

// leaveOut notes an entry that is not shown.
func (n *Notebook) leaveOut(id int64) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.hurt == nil {
		n.hurt = map[int64]bool{}
	}
	n.hurt[id] = true
}

// sealOf is the sum of what lists show of an entry, all of it with its points.
func sealOf(e *Entry) string {
	list := func(l []string) []string { return append([]string{}, l...) }
	text, err := json.Marshal([]any{
		e.Key, e.Time.UnixMicro(), e.Kind, e.Schema, e.Label, e.Note, e.Command, e.JigName, e.Trusted, e.Verdict,
		list(e.Findings), list(e.Files), append([]Point{}, e.Points...),
	})
	if err != nil {
		return "" // a number that is no JSON: never written
	}
	return sum(text)
}

// recordsSeal is the sum of which recordings an entry rests on.
func recordsSeal(e *Entry) string {
	if len(e.Records) == 0 {
		return ""
	}
	var text strings.Builder
	for _, r := range e.Records {
		fmt.Fprintf(&text, "%s %q\n", r.SHA256, r.Name)
	}
	return sum([]byte(text.String()))
}

// sound returns the entries of a list that agree with their seal. Entries of notebooks
// from before there were seals have none.
func (n *Notebook) sound(list []*Entry) []*Entry {
	out := list[:0]
	for _, e := range list {
		if e.spoilt || e.seal != "" && e.seal != sealOf(e) {
			n.leaveOut(e.ID)
			continue
		}
		out = append(out, e)
	}
	return out
}

// verify says why an entry with everything is not what was written, nil where it is.
func (e *Entry) verify() error {
	for _, d := range e.Documents {
		if d.SHA256 != sum([]byte(d.Text)) {
			return fmt.Errorf("entry %d: the text of %s: %w", e.ID, d.Name, ErrHurt)
		}
	}
	switch {
	case e.Key != e.key():
		return fmt.Errorf("entry %d: its result: %w", e.ID, ErrHurt)
	case e.spoilt, e.seal != "" && e.seal != sealOf(e):
		return fmt.Errorf("entry %d: its label, note or summary: %w", e.ID, ErrHurt)
	case e.seal != "" && e.recordsSeal != recordsSeal(e):
		return fmt.Errorf("entry %d: its list of recordings: %w", e.ID, ErrHurt)
	}
	return nil
}

// oneByOne is entries where the file is hurt so that they cannot be read in one go:
// those that can be read by themselves. The others are left out.
func (n *Notebook) oneByOne(ctx context.Context, from string, args []any) (list []*Entry, err error) {
	ids, err := n.ids(ctx)
	if err != nil {
		return nil, err
	}
	and := " WHERE "
	if strings.Contains(from, and) {
		and = " AND "
	}
	for _, id := range slices.Backward(ids) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		found, err := n.entries(ctx, columns+from+and+"e.id = ?", append(slices.Clone(args), id)...)
		if err == nil {
			err = n.points(ctx, found)
		}
		if err != nil {
			n.leaveOut(id)
			continue
		}
		for _, e := range found {
			e.Points = nil
		}
		list = append(list, found...)
	}
	return list, nil
}

// ids are the numbers that entries may have, in order: those that there are, or where
// that cannot be read all up to the last that was given.
func (n *Notebook) ids(ctx context.Context) (ids []int64, err error) {
	rows, err := n.db.QueryContext(ctx, "SELECT id FROM entry ORDER BY id")
	if err == nil {
		defer rows.Close()
		for rows.Next() {
			var id int64
			if err = rows.Scan(&id); err != nil {
				break
			}
			ids = append(ids, id)
		}
		err = errors.Join(err, rows.Err())
	}
	if err == nil {
		return ids, nil
	}
	var last int64
	if seq := n.db.QueryRowContext(ctx, "SELECT seq FROM sqlite_sequence WHERE name = 'entry'").Scan(&last); seq != nil {
		return nil, err
	}
	const most = 10_000_000 // more than anybody has measured; a damaged number may be anything
	ids = ids[:0]
	for id := int64(1); id <= min(last, most); id++ {
		ids = append(ids, id)
	}
	return ids, nil
}
