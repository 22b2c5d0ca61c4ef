package page

import (
	"context"
	"errors"
	"net/http"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// NotebookList are entries of the notebook, the newest first.
type NotebookList struct {
	File    string      `json:"file"`
	Total   int         `json:"total"` // that agree with what was asked
	Skip    int         `json:"skip"`
	Limit   int         `json:"limit"`
	Kinds   []string    `json:"kinds"` // that there are entries of
	Entries []EntryLine `json:"entries"`
	Hurt    string      `json:"hurt"` // which entries are not shown, and why; empty for none
}

// EntryLine is what a list shows of an entry.
type EntryLine struct {
	ID       int64     `json:"id"`
	Time     time.Time `json:"time"`
	Kind     string    `json:"kind"`
	Label    string    `json:"label"`
	Note     string    `json:"note"`
	Jig      string    `json:"jig"`
	Reads    string    `json:"reads"`    // value with uncertainty, how many readings, or the jig
	At       string    `json:"at"`       // frequencies of readings; empty for none
	Readings int       `json:"readings"` // in it
	Trusted  bool      `json:"trusted"`
	Verdict  string    `json:"verdict"` // empty for none
	Findings []string  `json:"findings"`
}

func lineOf(e *notebook.Entry) EntryLine {
	short := e.Short()
	reads, at := tell.EntryReads(&short)
	return EntryLine{
		ID: e.ID, Time: e.Time, Kind: short.Kind, Label: e.Label, Note: e.Note, Jig: e.JigName, Reads: sentence(reads), At: sentence(at),
		Readings: len(e.Points), Trusted: e.Trusted, Verdict: e.Verdict, Findings: short.Findings,
	}
}

// listNotebook lists entries.
func (b *Bench) listNotebook(r *http.Request) (any, error) {
	a := b.asked(r)
	f := a.filter()
	if a.err != nil {
		return nil, a.err
	}
	list, err := lookUp(r.Context(), b.book, func(ctx context.Context, n *notebook.Notebook) (*NotebookList, error) { return readList(ctx, n, f) })
	if errors.Is(err, errNotBegun) {
		return listOf(b.book.file, f), nil
	}
	return list, err
}

// listOf is a list without entries.
func listOf(file string, f notebook.Filter) *NotebookList {
	return &NotebookList{File: file, Skip: f.Skip, Limit: f.Limit, Kinds: []string{}, Entries: []EntryLine{}}
}

func readList(ctx context.Context, n *notebook.Notebook, f notebook.Filter) (*NotebookList, error) {
	l := listOf(n.File(), f)
	entries, err := n.List(ctx, f)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		l.Entries = append(l.Entries, lineOf(e))
	}
	if l.Total, err = n.Count(ctx, f); err != nil {
		return nil, err
	}
	kinds, err := n.Kinds(ctx)
	l.Kinds = append(l.Kinds, kinds...)
	if hurt := n.Hurt(); hurt != nil {
		l.Hurt = report.Plain(hurt)
	}
	return l, err
}
