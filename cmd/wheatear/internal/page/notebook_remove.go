package page

import (
	"context"
	"net/http"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// mostRemoved entries can be put back, until the program ends.
const mostRemoved = 100

// removeEntry takes an entry out of the notebook, and keeps it for putting it back.
func (b *Bench) removeEntry(r *http.Request, _ struct{}) error {
	id, err := entryID(r)
	if err != nil {
		return err
	}
	e, err := lookUp(r.Context(), b.book, func(ctx context.Context, n *notebook.Notebook) (*notebook.Entry, error) { return n.Remove(ctx, id) })
	if err != nil {
		return err
	}
	b.mu.Lock()
	b.removed = append(b.removed, e)
	b.removed = b.removed[max(0, len(b.removed)-mostRemoved):]
	b.mu.Unlock()
	b.book.changes.Add(1)
	b.notify()
	return nil
}

// restoreEntry puts an entry back that was removed.
func (b *Bench) restoreEntry(r *http.Request, _ struct{}) error {
	id, err := entryID(r)
	if err != nil {
		return err
	}
	is := func(e *notebook.Entry) bool { return e.ID == id }
	b.mu.Lock()
	i := slices.IndexFunc(b.removed, is)
	var e *notebook.Entry
	if i >= 0 {
		e = b.removed[i]
	}
	b.mu.Unlock()
	if e == nil {
		return notFound("entry %d was not removed since this program began, or too long ago", id)
	}
	if _, err = lookUp(r.Context(), b.book, func(ctx context.Context, n *notebook.Notebook) (struct{}, error) {
		return struct{}{}, n.Restore(ctx, e)
	}); err != nil {
		return err
	}
	b.mu.Lock()
	b.removed = slices.DeleteFunc(b.removed, is)
	b.mu.Unlock()
	b.book.changes.Add(1)
	b.notify()
	return nil
}
