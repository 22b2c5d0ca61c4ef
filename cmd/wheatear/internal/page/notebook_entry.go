package page

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// EntryView is an entry with all that it rests on.
type EntryView struct {
	Line       EntryLine            `json:"line"`
	Entry      *result.NotebookShow `json:"entry"`
	Facts      []view.Section       `json:"facts"` // what it says, in words and tables
	Points     []PointView          `json:"points"`
	Recordings []RecordingView      `json:"recordings"`
	Report     bool                 `json:"report"`  // there is a sheet of it
	Reading    int                  `json:"reading"` // the same kept in the folder of the jig, by its number; 0 for none
}

// PointView is one reading of an entry.
type PointView struct {
	At       string  `json:"at"`
	FreqHz   float64 `json:"frequency_hz"`
	Quantity string  `json:"quantity"`
	Text     string  `json:"text"`
	Trusted  bool    `json:"trusted"`
}

// RecordingView is a recording that was read.
type RecordingView struct {
	Name string `json:"name"`
	File string `json:"file"` // in the folder of the jig in use, by which it can be had; empty where it is elsewhere
}

// mostRecordings of an entry are listed; the entry itself holds all.
const mostRecordings = 200

// mostPoints of an entry, and rows of a table, are written out; the entry itself holds all.
const mostPoints = 1000

// notebookEntry is one entry in full.
func (b *Bench) notebookEntry(r *http.Request) (any, error) {
	e, kept, err := b.getEntry(r)
	if err != nil {
		return nil, err
	}
	show := e.ShowDocument(kept)
	v := &EntryView{Line: lineOf(e), Entry: show, Facts: shorter(view.Sections(tell.EntryResult(show))), Points: []PointView{}, Recordings: []RecordingView{}}
	for _, p := range show.Points[:min(mostPoints, len(e.Points))] {
		v.Points = append(v.Points, PointView{place(p.FreqHz), p.FreqHz, p.Quantity, written(tell.PointReads(&p)), p.Trusted})
	}
	doc, err := show.Document()
	v.Report = err == nil && doc != nil
	b.findKept(v, e)
	return v, nil
}

// shorter leaves out rows beyond the most; the entry itself holds all.
func shorter(facts []view.Section) []view.Section {
	for i, s := range facts {
		facts[i].Rows = s.Rows[:min(mostPoints, len(s.Rows))]
	}
	return append([]view.Section{}, facts...)
}

// getEntry looks an entry up, with the files of the recordings kept beside the notebook.
func (b *Bench) getEntry(r *http.Request) (*notebook.Entry, []string, error) {
	id, err := entryID(r)
	if err != nil {
		return nil, nil, err
	}
	type found struct {
		e    *notebook.Entry
		kept []string
	}
	f, err := lookUp(r.Context(), b.book, func(ctx context.Context, n *notebook.Notebook) (f found, err error) {
		if f.e, err = n.Get(ctx, id); err != nil {
			return f, err
		}
		for _, rec := range f.e.Records {
			f.kept = append(f.kept, n.RecordFile(rec))
		}
		return f, nil
	})
	return f.e, f.kept, err
}

// findKept finds what of an entry is in the folder of the jig in use.
func (b *Bench) findKept(v *EntryView, e *notebook.Entry) {
	b.mu.Lock()
	d := b.desk
	var readings []*Kept
	if d != nil {
		readings = d.readings // only ever appended to
	}
	b.mu.Unlock()
	var seen []string // a recording of many tones is named for each
	for _, f := range e.Files {
		if slices.Contains(seen, f) || len(seen) == mostRecordings {
			continue
		}
		seen = append(seen, f)
		rec := RecordingView{Name: filepath.Base(f)}
		if d != nil && filepath.Dir(f) == d.path(recordingsName) && hasFile(d.path(recordingsName), rec.Name) {
			rec.File = rec.Name
		}
		v.Recordings = append(v.Recordings, rec)
	}
	if e.Kind == notebook.Reading {
		v.Reading = sameReading(readings, e)
	}
}

// hasFile reports whether a folder has a file.
func hasFile(dir, name string) bool {
	f, err := openIn(dir, name)
	if err != nil {
		return false
	}
	defer f.Close()
	info, err := f.Stat()
	return err == nil && info.Mode().IsRegular()
}

// sameReading is the number of the kept reading that an entry is of: the one with the
// same document, made at about that time. It is 0 where there is none.
func sameReading(readings []*Kept, e *notebook.Entry) int {
	const entering = time.Minute // from keeping it to entering it, far more than it takes
	want := canonical(e.Result)
	for _, k := range readings {
		if e.Time.Sub(k.Time).Abs() < entering && want != "" && canonical(k.Measure) == want {
			return k.ID
		}
	}
	return 0
}

// canonical writes a document so that it can be compared: files of readings escape some
// letters that the notebook does not.
func canonical(doc []byte) string {
	var compact, escaped bytes.Buffer
	if json.Compact(&compact, doc) != nil {
		return ""
	}
	json.HTMLEscape(&escaped, compact.Bytes())
	return escaped.String()
}

// describeEntry changes label and note, and nothing that was measured.
func (b *Bench) describeEntry(r *http.Request, d Description) error {
	id, err := entryID(r)
	if err == nil {
		err = d.check()
	}
	if err != nil {
		return err
	}
	_, err = lookUp(r.Context(), b.book, func(ctx context.Context, n *notebook.Notebook) (_ struct{}, err error) {
		e, err := n.Get(ctx, id)
		if err != nil {
			return struct{}{}, err
		}
		if d.Label != nil {
			e.Label = *d.Label
		}
		if d.Note != nil {
			e.Note = *d.Note
		}
		return struct{}{}, n.Describe(ctx, id, e.Label, e.Note)
	})
	if err == nil {
		b.book.changes.Add(1)
		b.notify()
	}
	return err
}

// serveResult is what was measured, as the file that the command printed.
func (b *Bench) serveResult(w http.ResponseWriter, r *http.Request) {
	e, _, err := b.getEntry(r)
	if err != nil {
		fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="entry-%d.json"`, e.ID))
	w.Write(append(e.Result, '\n'))
}
