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
	"os"
	"strconv"
	"time"
)

// Part is one part of a run.
type Part struct {
	Number  int
	Name    string // as it was put in or recorded; may be empty
	At      time.Time
	FreqHz  float64
	Value   float64 // in Unit
	U       float64
	OwnU    float64 // what it does not share with the other parts
	Low     float64
	High    float64
	Unit    string
	Verdict string
	Risk    float64
	Bin     string
	Chance  float64 // of the bin
}

// header is the first line. Its units are SI.
var header = []string{"number", "name", "time", "frequency_hz", "value", "u", "u_own", "low_95", "high_95", "unit", "verdict", "risk", "bin", "bin_chance"}

// File is a run on disk.
type File struct {
	file  *os.File
	parts []Part
}

// ErrOther says that a file is no run.
var ErrOther = errors.New("no run of this program is in it; name another file, or remove it")

// Open begins a run, or goes on with the one that the file holds.
func Open(name string) (*File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	r := &File{file: f}
	if err := r.load(name); err != nil {
		f.Close()
		return nil, err
	}
	return r, nil
}

// load reads what is there and cuts off a last line that is not whole.
func (r *File) load(name string) error {
	text, err := io.ReadAll(r.file)
	if err != nil {
		return err
	}
	whole := text[:bytes.LastIndexByte(text, '\n')+1]
	if len(text) > 0 && len(whole) == 0 && !bytes.HasPrefix([]byte(line(header)), text) {
		return fmt.Errorf("%s: %w", name, ErrOther)
	}
	if len(whole) > 0 {
		if r.parts, err = parse(whole); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	if err := r.file.Truncate(int64(len(whole))); err != nil {
		return err
	}
	if _, err := r.file.Seek(0, io.SeekEnd); err != nil {
		return err
	}
	if len(whole) == 0 {
		return r.write(header)
	}
	return nil
}

// parse reads whole lines.
func parse(text []byte) ([]Part, error) {
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(rows) == 0 || line(rows[0]) != line(header) {
		return nil, ErrOther
	}
	var out []Part
	for i, row := range rows[1:] {
		p, err := partOf(row)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+2, err)
		}
		out = append(out, p)
	}
	return out, nil
}

func partOf(row []string) (p Part, err error) {
	number := func(text string) float64 {
		v, e := strconv.ParseFloat(text, 64)
		if e != nil && err == nil {
			err = fmt.Errorf("%q is no number", text)
		}
		return v
	}
	p = Part{Number: int(number(row[0])), Name: row[1], FreqHz: number(row[3]), Value: number(row[4]), U: number(row[5]), OwnU: number(row[6]),
		Low: number(row[7]), High: number(row[8]), Unit: row[9], Verdict: row[10], Risk: number(row[11]), Bin: row[12], Chance: number(row[13])}
	at, e := time.Parse(time.RFC3339, row[2])
	if e != nil && err == nil {
		err = fmt.Errorf("%q is no time", row[2])
	}
	p.At = at
	return p, err
}

// Parts are those that the file holds.
func (r *File) Parts() []Part { return r.parts }

// Has reports whether a part of that name is there.
func (r *File) Has(name string) bool {
	for _, p := range r.parts {
		if p.Name == name {
			return true
		}
	}
	return false
}

// Add writes a part and sees that it is on the disk.
func (r *File) Add(p Part) error {
	f := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	if err := r.write([]string{strconv.Itoa(p.Number), p.Name, p.At.UTC().Format(time.RFC3339), f(p.FreqHz), f(p.Value), f(p.U), f(p.OwnU), f(p.Low), f(p.High),
		p.Unit, p.Verdict, f(p.Risk), p.Bin, f(p.Chance)}); err != nil {
		return err
	}
	r.parts = append(r.parts, p)
	return nil
}

// write writes a line in one piece.
func (r *File) write(row []string) error {
	if _, err := io.WriteString(r.file, line(row)); err != nil {
		return err
	}
	return r.file.Sync()
}

func line(row []string) string {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write(row) // a buffer takes everything
	w.Flush()
	return b.String()
}

// Close closes the file.
func (r *File) Close() error { return r.file.Close() }
