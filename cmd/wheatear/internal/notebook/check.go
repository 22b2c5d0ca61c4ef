package notebook

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
)

// Examined is what [Notebook.Examine] found.
type Examined struct {
	Entries  int // looked at
	Records  int // kept recordings that agree with their sum
	Absent   int // recordings named but not beside the notebook, as after an import
	Problems []Problem
}

// Problem is one thing that is hurt.
type Problem struct {
	Entry  int64 // number, 0 for none
	What   string
	Mended bool
}

// Left is how many problems are not mended.
func (x *Examined) Left() (count int) {
	for _, p := range x.Problems {
		if !p.Mended {
			count++
		}
	}
	return count
}

// Mend says how [Notebook.Examine] may mend. Redo makes the result of an entry again
// from its documents and its kept recordings, whose files it is given.
type Mend struct {
	Redo func(ctx context.Context, e *Entry, records []string) (json.RawMessage, error)
}

// Examine looks at all of a notebook: the file, each entry against its sums, each kept
// recording. With m it mends what can be mended; what it wrote has been read back.
// The error is about looking itself.
func (n *Notebook) Examine(ctx context.Context, m *Mend) (*Examined, error) {
	x := &examiner{n: n, mend: m}
	if err := x.file(ctx); err != nil {
		return nil, n.explain(err)
	}
	if err := x.records(ctx); err != nil {
		return nil, n.explain(err)
	}
	ids, err := n.ids(ctx)
	if err != nil {
		return nil, n.explain(err)
	}
	for _, id := range ids {
		if err := ctx.Err(); err != nil {
			return nil, n.explain(err)
		}
		x.entry(ctx, id)
	}
	return &x.Examined, nil
}

type examiner struct {
	Examined
	n    *Notebook
	mend *Mend
}

// found notes a problem; mended is nil where mending has worked.
func (x *examiner) found(id int64, mended error, format string, args ...any) {
	p := Problem{Entry: id, What: fmt.Sprintf(format, args...), Mended: x.mend != nil && mended == nil}
	if x.mend != nil && mended != nil {
		p.What += "; " + strings.TrimPrefix(mended.Error(), "notebook: ")
	}
	x.Problems = append(x.Problems, p)
}

// file checks the pages and indexes of the file, and makes the indexes anew.
func (x *examiner) file(ctx context.Context) error {
	err := x.n.Check(ctx)
	if err == nil {
		return nil
	}
	if !errors.Is(err, ErrDamaged) {
		return err
	}
	var mended error
	if x.mend != nil {
		_, mended = x.n.db.ExecContext(ctx, "REINDEX; INSERT INTO words (words) VALUES ('rebuild')")
		if mended == nil {
			mended = x.n.Check(ctx)
		}
		if mended != nil {
			mended = errors.New("what can be read can be exported, and imported into a new file")
		}
	}
	x.found(0, mended, "the file itself: %v", err)
	return nil
}

// records checks the kept recordings, and takes one that is hurt anew from the file it
// was copied from.
func (x *examiner) records(ctx context.Context) error {
	kept, err := x.n.keptRecords()
	if err != nil {
		return err
	}
	for file, want := range kept {
		if want == "" {
			continue // never finished; prune removes it
		}
		if got, err := sumOf(file); err == nil && got == want {
			x.Records++
			continue
		}
		x.found(0, errors.New("keep it again from the original, if there is one"), "the kept recording %s is not what was kept", filepath.Base(file))
	}
	return nil
}

// sumOf is the SHA-256 of a file.
func sumOf(file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", err
	}
	defer f.Close()
	digest := sha256.New()
	if _, err := io.Copy(digest, f); err != nil {
		return "", err
	}
	return fmt.Sprintf("%x", digest.Sum(nil)), nil
}

// entry checks one, if there is one of that number.
func (x *examiner) entry(ctx context.Context, id int64) {
	e, err := x.n.get(ctx, id)
	if errors.Is(err, ErrUnknown) {
		return
	}
	x.Entries++
	if e == nil {
		x.found(id, errors.New("it cannot be read"), "%v", err)
		return
	}
	var whole []string // recordings that are there, in order
	for _, r := range e.Records {
		if got, err := sumOf(x.n.RecordFile(r)); err == nil && got == r.SHA256 {
			whole = append(whole, x.n.RecordFile(r))
		} else if errors.Is(err, os.ErrNotExist) {
			x.Absent++
		}
	}
	if len(whole) < len(e.Records) {
		whole = nil
	}
	if err == nil {
		err = e.agrees()
	}
	if err == nil && e.seal != "" {
		return
	}
	if err == nil { // from before there were seals: what it holds agrees
		if x.mend != nil {
			if err := x.n.reseal(ctx, e); err != nil {
				x.found(id, err, "it has no seal")
			}
		}
		return
	}
	var mended error
	what := strings.TrimPrefix(err.Error(), fmt.Sprintf("entry %d: ", id))
	if x.mend != nil {
		if mended = x.mendEntry(ctx, e, whole); errors.Is(mended, errWords) {
			what, mended = what+"; "+errWords.Error(), nil
		}
	}
	x.found(id, mended, "%s", what)
}

// agrees says whether what lists show of an entry with a good key follows from its
// result. A summary may be of an older version of this program, under a good seal.
func (e *Entry) agrees() error {
	if e.seal != "" {
		return nil // verified
	}
	_, s, err := summarise(e.Result)
	if err == nil && s.JigName == "" {
		s.JigName = e.jigName()
	}
	if err == nil && (s.Schema != e.Schema || len(s.Points) != len(e.Points)) {
		err = ErrHurt
	}
	return err
}

// mendEntry brings an entry back to what was written, and reads it back.
func (x *examiner) mendEntry(ctx context.Context, e *Entry, records []string) error {
	for i := range e.Documents {
		d := &e.Documents[i]
		if d.SHA256 == sum([]byte(d.Text)) {
			continue
		}
		text, ok := unflip([]byte(d.Text), func(text []byte) bool { return sum(text) == d.SHA256 })
		if file, err := os.ReadFile(d.Name); !ok && err == nil && sum(file) == d.SHA256 {
			text, ok = file, true
		}
		if !ok {
			return fmt.Errorf("no whole copy of %s is left", d.Name)
		}
		d.Text = string(text)
		if _, err := x.n.db.ExecContext(ctx, "UPDATE document SET body = ? WHERE sha256 = ?", d.Text, d.SHA256); err != nil {
			return err
		}
	}
	if err := x.mendResult(ctx, e, records); err != nil {
		return err
	}
	_, s, err := summarise(e.Result)
	if err != nil {
		return err
	}
	if s.JigName == "" {
		s.JigName = e.jigName()
	}
	e.Summary = s
	unsure := !e.unflipWords()
	if err := x.n.rewrite(ctx, e); err != nil {
		return err
	}
	again, err := x.n.get(ctx, e.ID)
	if err == nil && !reflect.DeepEqual(again.Result, e.Result) {
		err = ErrHurt
	}
	if err == nil && unsure {
		err = errWords
	}
	return err
}

// errWords is told where there is no second copy of what may be hurt.
var errWords = errors.New("label, note or names of files may differ from what was written: look at them, and describe it anew")

// unflipWords turns back a bit in label, note or names of files, until the seal is
// right, and reports whether it is.
func (e *Entry) unflipWords() bool {
	right := func() bool { return e.seal == "" || e.seal == sealOf(e) }
	words := []*string{&e.Label, &e.Note}
	for i := range e.Files {
		words = append(words, &e.Files[i])
	}
	if right() {
		return true
	}
	for _, word := range words {
		was := *word
		if _, ok := unflip([]byte(was), func(text []byte) bool { *word = string(text); return right() }); ok {
			return true
		}
		*word = was
	}
	return false
}

// mendResult finds the result that the key is of: as it is, with one bit turned back,
// or made again from the recordings.
func (x *examiner) mendResult(ctx context.Context, e *Entry, records []string) error {
	right := func(result []byte) bool {
		other := *e
		other.Result = result
		return other.key() == e.Key
	}
	if right(e.Result) || e.unflipKey() {
		return nil
	}
	if result, ok := unflip(e.Result, right); ok {
		e.Result = result
		return nil
	}
	if len(records) == 0 || x.mend.Redo == nil {
		return errors.New("the recordings that it was made from are not beside the notebook")
	}
	result, err := x.mend.Redo(ctx, e, records)
	if err != nil {
		return fmt.Errorf("it cannot be made again from its recordings: %w", err)
	}
	compact, _, err := summarise(result)
	if err != nil || !right(compact) {
		return errors.New("made again from its recordings it comes out otherwise, as of another version; measure from the kept recordings anew")
	}
	e.Result = compact
	return nil
}

// unflipKey turns back a bit in what else the key is made of: the time, the command, and
// the key itself, where the seal agrees.
func (e *Entry) unflipKey() bool {
	if was := e.Key; e.seal != "" {
		if e.Key = e.key(); e.seal == sealOf(e) {
			return true
		}
		e.Key = was
	}
	was := e.Time
	for bit := range 62 {
		if e.Time = atMicro(was.UnixMicro() ^ 1<<bit); e.Key == e.key() {
			return true
		}
	}
	e.Time = was
	command := e.Command
	_, ok := unflip([]byte(command), func(text []byte) bool { e.Command = string(text); return e.Key == e.key() })
	if !ok {
		e.Command = command
	}
	return ok
}

// longestUnflip limits how long a text is searched for one turned bit: each bit costs a
// sum of all of it.
const longestUnflip = 12 << 10

// unflip looks for the one bit that makes a text right again.
func unflip(text []byte, right func([]byte) bool) ([]byte, bool) {
	if len(text) > longestUnflip {
		return nil, false
	}
	try := append([]byte(nil), text...)
	for i := range try {
		for bit := byte(1); bit != 0; bit <<= 1 {
			if try[i] ^= bit; right(try) {
				return try, true
			}
			try[i] ^= bit
		}
	}
	return nil, false
}

// reseal writes the seals of an entry.
func (n *Notebook) reseal(ctx context.Context, e *Entry) error {
	return n.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "UPDATE entry SET seal = ?, records_seal = ? WHERE id = ?", sealOf(e), recordsSeal(e), e.ID)
		return err
	})
}

// rewrite writes all of an entry anew under its number, but for its documents.
func (n *Notebook) rewrite(ctx context.Context, e *Entry) error {
	files, err := json.Marshal(append([]string{}, e.Files...))
	if err != nil {
		return err
	}
	return n.write(ctx, func(tx *sql.Tx) error {
		for _, do := range []struct {
			text string
			args []any
		}{
			{"UPDATE result SET body = ? WHERE entry = ?", []any{string(e.Result), e.ID}},
			{"DELETE FROM point WHERE entry = ?", []any{e.ID}},
			{`UPDATE entry SET key = ?, at_us = ?, label = ?, note = ?, command = ?, files = ?, kind = ?, schema = ?, jig = ?, basis = ?, trusted = ?, verdict = ?, findings = ?, seal = ?, records_seal = ? WHERE id = ?`,
				[]any{e.Key, e.Time.UnixMicro(), e.Label, e.Note, e.Command, string(files), string(e.Kind), e.Schema, e.JigName, e.basis(), e.Trusted, e.Verdict, strings.Join(e.Findings, " "), sealOf(e), recordsSeal(e), e.ID}},
		} {
			if _, err := tx.ExecContext(ctx, do.text, do.args...); err != nil {
				return err
			}
		}
		a, err := newAdder(ctx, tx)
		if err != nil {
			return err
		}
		defer a.close()
		return a.points(ctx, e)
	})
}
