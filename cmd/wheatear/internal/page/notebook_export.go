package page

import (
	"bytes"
	"context"
	"net/http"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/html"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// exportFormats are the files that entries can be had as.
var exportFormats = map[string]struct {
	kind, name string
	write      func(*notebook.Notebook, context.Context, *bytes.Buffer, notebook.Filter) (int, error)
}{
	"csv": {"text/csv; charset=utf-8", "notebook.csv", func(n *notebook.Notebook, ctx context.Context, w *bytes.Buffer, f notebook.Filter) (int, error) {
		return n.ExportCSV(ctx, w, f)
	}},
	"json": {"application/x-ndjson", "notebook.jsonl", func(n *notebook.Notebook, ctx context.Context, w *bytes.Buffer, f notebook.Filter) (int, error) {
		return n.Export(ctx, w, f)
	}},
}

// exportEntries is the entries of a search, or those of some numbers, as one file. Each
// that is hurt is left out, and the answer says so instead.
func (b *Bench) exportEntries(w http.ResponseWriter, r *http.Request) {
	a := b.asked(r)
	f := a.filter()
	f.Limit, f.Skip = 0, 0
	for _, text := range strings.FieldsFunc(a.text("entries"), func(r rune) bool { return r == ',' }) {
		id, err := strconv.ParseInt(strings.TrimSpace(text), 10, 64)
		if err != nil || id < 1 {
			a.fail("entries: %.40q is no number of an entry", text)
			break
		}
		f.IDs = append(f.IDs, id)
	}
	format, known := exportFormats[r.PathValue("format")]
	if !known {
		a.err = notFound("there is no such file; there are csv and json")
	}
	if a.err != nil {
		fail(w, a.err)
		return
	}
	text, err := lookUp(r.Context(), b.book, func(ctx context.Context, n *notebook.Notebook) (*bytes.Buffer, error) {
		var text bytes.Buffer
		_, err := format.write(n, ctx, &text, f)
		if hurt := n.Hurt(); hurt != nil {
			b.tell("Left out of the file: "+report.Plain(hurt)+".", true)
		}
		return &text, err
	})
	if err != nil {
		fail(w, err)
		return
	}
	w.Header().Set("Content-Type", format.kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+format.name+`"`)
	w.Write(text.Bytes())
}

// serveEntryReport is an entry as a sheet that stands alone.
func (b *Bench) serveEntryReport(w http.ResponseWriter, r *http.Request) {
	e, _, err := b.getEntry(r)
	if err != nil {
		fail(w, err)
		return
	}
	doc, err := e.ShowDocument(nil).Document()
	if err != nil || doc == nil {
		fail(w, notFound("entry %d is of a kind that has no report: take its result as JSON", e.ID))
		return
	}
	var text bytes.Buffer
	if err := html.Write(&text, tell.Document(doc), e.Time); err != nil {
		fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(text.Bytes())
}
