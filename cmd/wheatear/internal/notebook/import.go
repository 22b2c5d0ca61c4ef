package notebook

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"example.org/wheatear/cmd/wheatear/internal/extreme"
)

// longest line of an export that is read; a calibration of a thousand frequencies
// takes some megabytes.
const longest = 64 << 20

// LineError says what is wrong with a line of an export.
type LineError struct {
	Line int
	Err  error
}

// Error says where and what.
func (e *LineError) Error() string {
	return fmt.Sprintf("notebook: line %d: %v; nothing was imported", e.Line, e.Err)
}

// Unwrap returns the cause.
func (e *LineError) Unwrap() error { return e.Err }

// batch is how many entries are added in one go: few enough not to keep other
// processes from writing.
const batch = 200

// Import adds the entries of an export. It reads all of it first, and adds nothing
// where a line is not understood (a *LineError). Entries that are there already, by
// their key, stay as they are; known counts them. What is interrupted can be done
// again.
func (n *Notebook) Import(ctx context.Context, r io.ReadSeeker) (added, known int, err error) {
	check := func([]*Entry) error { return ctx.Err() }
	if err := batches(r, check); err != nil {
		return 0, 0, err
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return 0, 0, fmt.Errorf("notebook: the export cannot be read twice: %w", err)
	}
	err = batches(r, func(entries []*Entry) error {
		count, err := n.addComplete(ctx, entries, false)
		added, known = added+count, known+len(entries)-count
		return err
	})
	return added, known, err
}

// batches calls do with some entries of an export at a time.
func batches(r io.Reader, do func([]*Entry) error) error {
	d := newDecoder(r)
	var list []*Entry
	for {
		e, err := d.next()
		if err == io.EOF {
			return do(list)
		}
		if err != nil {
			return err
		}
		if list = append(list, e); len(list) < batch {
			continue
		}
		if err := do(list); err != nil {
			return err
		}
		list = nil
	}
}

// decoder reads an export.
type decoder struct {
	r         *bufio.Reader
	line      int
	documents map[string]Document
}

func newDecoder(r io.Reader) *decoder {
	return &decoder{r: bufio.NewReader(r), documents: map[string]Document{}}
}

// next returns the next entry, complete, or io.EOF.
func (d *decoder) next() (*Entry, error) {
	for {
		text, err := d.read()
		if err == io.EOF {
			return nil, err
		}
		var e *Entry
		if err == nil {
			e, err = d.decode(text)
		}
		if err != nil {
			return nil, &LineError{d.line, err}
		}
		if e != nil {
			return e, nil
		}
	}
}

// read returns the next line that is not empty.
func (d *decoder) read() ([]byte, error) {
	for {
		var line []byte
		d.line++
		for {
			part, err := d.r.ReadSlice('\n')
			line = append(line, part...)
			if len(line) > longest {
				return nil, fmt.Errorf("it is longer than %d MB", longest>>20)
			}
			if err == bufio.ErrBufferFull {
				continue
			}
			if err != nil && (err != io.EOF || len(line) == 0) {
				return nil, err
			}
			break
		}
		if line = bytes.TrimSpace(line); len(line) > 0 {
			return line, nil
		}
	}
}

// decode reads one line; a document gives no entry.
func (d *decoder) decode(text []byte) (*Entry, error) {
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return nil, fmt.Errorf("no line of an export of wheatear notebook: %w", err)
	}
	if err := extreme.Check(text); err != nil {
		return nil, err
	}
	switch head.Schema {
	case documentSchema:
		return nil, d.document(text)
	case entrySchema:
		return d.entry(text)
	}
	return nil, fmt.Errorf("schema %q is none that this program knows; those are %s and %s", head.Schema, documentSchema, entrySchema)
}

func (d *decoder) document(text []byte) error {
	var line documentLine
	if err := strict(text, &line); err != nil {
		return err
	}
	doc := NewDocument("", line.Name, line.Text)
	if doc.SHA256 != line.SHA256 {
		return fmt.Errorf("the text of %s is not that of its SHA-256: it was changed after the export", line.Name)
	}
	d.documents[doc.SHA256] = doc
	return nil
}

func (d *decoder) entry(text []byte) (*Entry, error) {
	var line entryLine
	if err := strict(text, &line); err != nil {
		return nil, err
	}
	e := &Entry{Label: line.Label, Note: line.Note, Command: line.Command, Files: line.Files, Result: line.Result}
	var err error
	if e.Time, err = parseTime(line.Time); err != nil {
		return nil, err
	}
	for _, on := range line.RestsOn {
		doc, known := d.documents[on.SHA256]
		if !known {
			return nil, fmt.Errorf("it rests on the text %.12s, which no line before it holds", on.SHA256)
		}
		doc.Role = on.Role
		e.Documents = append(e.Documents, doc)
	}
	for _, r := range line.Records {
		if !isSum(r.SHA256) {
			return nil, fmt.Errorf("%.80q is no SHA-256", r.SHA256)
		}
		e.Records = append(e.Records, Record(r))
	}
	if err := e.complete(); err != nil {
		return nil, err
	}
	if e.Key != line.Key {
		return nil, errors.New("the entry is not that of its key: it was changed after the export")
	}
	return e, nil
}

// strict reads JSON into a struct, and refuses keys that it does not have.
func strict(text []byte, into any) error {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	return dec.Decode(into)
}

// isSum reports whether a text can be a SHA-256; names of files are made of it.
func isSum(text string) bool {
	for _, c := range text {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return len(text) == 64
}
