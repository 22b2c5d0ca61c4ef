package notebook

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"time"
)

// Schemas of the lines of an export.
const (
	documentSchema = "wheatear.notebook.document/1"
	entrySchema    = "wheatear.notebook.entry/1"
)

// documentLine is a jig file or a calibration; it stands before the first entry that
// rests on it.
type documentLine struct {
	Schema string `json:"schema"`
	SHA256 string `json:"sha256"`
	Name   string `json:"name"`
	Text   string `json:"text"`
}

// entryLine is an entry.
type entryLine struct {
	Schema  string          `json:"schema"`
	Key     string          `json:"key"`
	Time    string          `json:"time"` // RFC 3339, UTC, to the microsecond
	Label   string          `json:"label"`
	Note    string          `json:"note"`
	Command string          `json:"command"`
	RestsOn []basisLine     `json:"rests_on"`
	Files   []string        `json:"files"`
	Records []recordLine    `json:"records,omitempty"`
	Result  json.RawMessage `json:"result"`
}

type basisLine struct {
	Role   string `json:"role"`
	SHA256 string `json:"sha256"`
}

type recordLine struct {
	SHA256 string `json:"sha256"`
	Name   string `json:"name"`
}

const timeLayout = "2006-01-02T15:04:05.000000Z"

// Export writes the entries that are meant as lines of JSON, the oldest first, with
// all that Import needs to have them again, and returns how many there were. Entries
// that are not what was written are left out; see Hurt.
func (n *Notebook) Export(ctx context.Context, w io.Writer, f Filter) (count int, err error) {
	written := map[string]bool{}
	err = n.each(ctx, f, func(e *Entry) error {
		for _, d := range e.Documents {
			if written[d.SHA256] {
				continue
			}
			written[d.SHA256] = true
			if err := encodeLine(w, documentLine{documentSchema, d.SHA256, d.Name, d.Text}); err != nil {
				return err
			}
		}
		count++
		return encodeLine(w, lineOf(e))
	})
	return count, err
}

// lineOf is an entry as a line.
func lineOf(e *Entry) entryLine {
	line := entryLine{
		Schema: entrySchema, Key: e.Key, Time: e.Time.Format(timeLayout), Label: e.Label, Note: e.Note, Command: e.Command,
		RestsOn: []basisLine{}, Files: append([]string{}, e.Files...), Result: e.Result,
	}
	for _, d := range e.Documents {
		line.RestsOn = append(line.RestsOn, basisLine{d.Role, d.SHA256})
	}
	for _, r := range e.Records {
		line.Records = append(line.Records, recordLine(r))
	}
	return line
}

// encodeLine writes one document as one line.
func encodeLine(w io.Writer, line any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(line)
}

// each calls do with every entry that is meant, complete, the oldest first. It takes the list first,
// so that a slow reader of the export does not keep the file.
func (n *Notebook) each(ctx context.Context, f Filter, do func(*Entry) error) error {
	from, args := f.from()
	list, err := n.entries(ctx, columns+from+f.page(), args...)
	if errors.Is(n.explain(err), ErrDamaged) {
		list, err = n.oneByOne(ctx, from, args)
	}
	if err != nil {
		return n.explain(err)
	}
	slices.Reverse(list)
	for i, e := range list {
		err := errors.Join(n.points(ctx, list[i:i+1]), n.fill(ctx, e))
		if err == nil {
			err = e.verify()
		}
		if err != nil && ctx.Err() == nil && isHurt(n.explain(err)) {
			n.leaveOut(e.ID)
			continue
		}
		if err != nil {
			return n.explain(err)
		}
		if err := do(e); err != nil {
			return err
		}
		list[i] = nil // what is done need not be kept
	}
	return nil
}

// isHurt reports whether an error is about one entry, not about the whole notebook.
func isHurt(err error) bool {
	return errors.Is(err, ErrHurt) || errors.Is(err, ErrDamaged) || errors.Is(err, sql.ErrNoRows)
}

// parseTime reads the time of a line.
func parseTime(text string) (time.Time, error) { return time.Parse(timeLayout, text) }
