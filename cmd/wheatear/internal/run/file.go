// Package run keeps the parts of a sorting run in a CSV file (RFC 4180) that survives
// whatever happens to the program: each part is written and synced before the next is
// asked for, and a line that was cut short is taken off when the run goes on.
package run

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/cells"
	"example.org/wheatear/lockin/parts"
)

// Errors.
var (
	// ErrOther says that a file is no run.
	ErrOther = errors.New("no run of this program is in it; name another file, or remove it")
	// ErrAnother says that it is a run of something else.
	ErrAnother = errors.New("go on with the run that it holds, or name another file")
	// ErrShared says that somebody else writes into the file.
	ErrShared = errors.New("it has changed meanwhile: another program writes into it; give each run a file of its own")
)

// Kind is what a run is of: the same for all its parts.
type Kind struct {
	Unit     parts.Unit // Ohm, Farad or Henry: of the values, and in the header
	Expected string     // the part and its tolerance, as in "100 nF/5 %"
}

// File is a run on disk.
type File struct {
	name  string
	kind  Kind
	file  *os.File
	size  int64
	parts []Part
	wide  int // columns, less in files of older versions
}

// Open begins a run, or goes on with the one that the file holds. A run of other parts,
// and a file that is none, are refused and stay as they are.
func Open(name string, kind Kind) (*File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	r := &File{name: name, kind: kind, file: f, wide: len(header(kind.Unit))}
	if err := r.load(); err != nil {
		f.Close()
		return nil, err
	}
	return r, nil
}

// load reads what is there and cuts off a last line that is not whole.
func (r *File) load() error {
	text, err := io.ReadAll(r.file)
	if err != nil {
		return err
	}
	whole := text[:bytes.LastIndexByte(text, '\n')+1]
	if len(whole) == 0 && !bytes.HasPrefix([]byte(line(header(r.kind.Unit))), text) {
		return fmt.Errorf("%s: %w", r.name, ErrOther)
	}
	if len(whole) > 0 {
		if r.parts, r.wide, err = parse(whole, r.kind); err != nil {
			return fmt.Errorf("%s: %w", r.name, err)
		}
	}
	if err := r.file.Truncate(int64(len(whole))); err != nil {
		return err
	}
	if _, err := r.file.Seek(0, io.SeekEnd); err != nil {
		return err
	}
	r.size = int64(len(whole))
	if len(whole) > 0 {
		return nil
	}
	if err := r.write(header(r.kind.Unit)); err != nil {
		return err
	}
	syncDir(filepath.Dir(r.name))
	return nil
}

// syncDir has the name of a new file on the disk, where the system knows how.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		d.Close()
	}
}

// parse reads whole lines, and says how many columns they have.
func parse(text []byte, kind Kind) (out []Part, wide int, err error) {
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(rows) == 0 {
		return nil, 0, ErrOther
	}
	wide = len(rows[0])
	of := func(unit parts.Unit) bool {
		return wide == oldColumns && slices.Equal(rows[0], header(unit)[:wide]) || slices.Equal(rows[0], header(unit))
	}
	if !of(kind.Unit) {
		for unit := range units {
			if of(unit) {
				return nil, 0, fmt.Errorf("its values are in %s and those of %s are in %s: %w", unit, kind.Expected, kind.Unit, ErrAnother)
			}
		}
		return nil, 0, ErrOther
	}
	for i, row := range rows[1:] {
		p, err := partOf(row)
		if err != nil {
			return nil, 0, fmt.Errorf("line %d: %w", i+2, err)
		}
		if p.Expected != kind.Expected {
			return nil, 0, fmt.Errorf("line %d: it is a run of %s and not of %s: %w", i+2, p.Expected, kind.Expected, ErrAnother)
		}
		if p.Number != i+1 {
			return nil, 0, fmt.Errorf("line %d: part %d in the place of part %d; put the lines back as they were", i+2, p.Number, i+1)
		}
		out = append(out, p)
	}
	return out, wide, nil
}

// Parts are those that the file holds.
func (r *File) Parts() []Part { return r.parts }

// Count is how many parts of that name there are.
func (r *File) Count(name string) int {
	n := 0
	for _, p := range r.parts {
		if p.Name == oneLine(name) {
			n++
		}
	}
	return n
}

// Add numbers a part, writes it and sees that it is on the disk. The frequency must be
// that of the parts before.
func (r *File) Add(p Part) (Part, error) {
	p.Number, p.Name, p.Expected = len(r.parts)+1, oneLine(p.Name), r.kind.Expected
	if len(r.parts) > 0 && math.Abs(p.FreqHz/r.parts[0].FreqHz-1) > 1e-6 {
		return p, fmt.Errorf("%s: it is a run at %g Hz and not at %g Hz: %w", r.name, r.parts[0].FreqHz, p.FreqHz, ErrAnother)
	}
	if err := r.write(p.row()[:r.wide]); err != nil {
		return p, err
	}
	r.parts = append(r.parts, p)
	return p, nil
}

// TakeBack takes the last part off the run, as when it was put in by mistake. The number
// is for the next part.
func (r *File) TakeBack() (Part, error) {
	if len(r.parts) == 0 {
		return Part{}, fmt.Errorf("%s: there is no part to take back", r.name)
	}
	if err := r.alone(); err != nil {
		return Part{}, err
	}
	text := make([]byte, r.size)
	if _, err := r.file.ReadAt(text, 0); err != nil {
		return Part{}, err
	}
	cut := bytes.LastIndexByte(text[:len(text)-1], '\n') + 1
	if left, _, err := parse(text[:cut], r.kind); err != nil || len(left) != len(r.parts)-1 {
		return Part{}, fmt.Errorf("%s: its last part has more than a line: take it off with an editor", r.name)
	}
	if err := r.file.Truncate(int64(cut)); err != nil {
		return Part{}, err
	}
	if _, err := r.file.Seek(int64(cut), io.SeekStart); err != nil {
		return Part{}, err
	}
	last := r.parts[len(r.parts)-1]
	r.size, r.parts = int64(cut), slices.Clip(r.parts[:len(r.parts)-1]) // others may hold the longer list
	return last, r.file.Sync()
}

// alone makes sure that nobody else has written into the file.
func (r *File) alone() error {
	info, err := r.file.Stat()
	if err == nil && info.Size() != r.size {
		err = fmt.Errorf("%s: %w", r.name, ErrShared)
	}
	return err
}

// write writes a line in one piece.
func (r *File) write(row []string) error {
	if err := r.alone(); err != nil {
		return err
	}
	n, err := io.WriteString(r.file, line(row))
	r.size += int64(n)
	if err != nil {
		return err
	}
	return r.file.Sync()
}

// WriteCSV writes parts as the file of a run has them.
func WriteCSV(w io.Writer, kind Kind, list []Part) error {
	rows := cells.NewWriter(w)
	_ = rows.Write(header(kind.Unit)) // what goes wrong is told at the end
	for _, p := range list {
		_ = rows.Write(p.row())
	}
	rows.Flush()
	return rows.Error()
}

func line(row []string) string {
	var b bytes.Buffer
	w := cells.NewWriter(&b)
	_ = w.Write(row) // a buffer takes everything
	w.Flush()
	return b.String()
}

// Close closes the file.
func (r *File) Close() error { return r.file.Close() }
