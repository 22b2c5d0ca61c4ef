package cli

import (
	"fmt"
	"io"
	"os"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/wave"
	"example.org/wheatear/lockin/record"
)

// stdinName is what standard input is called where a file has its name.
const stdinName = "standard input"

// open opens a file for reading; - is standard input, which can be read once.
func (a *app) open(name string) (io.ReadCloser, string, error) {
	if name != "-" {
		f, err := os.Open(name)
		return f, name, err
	}
	if a.stdinTaken {
		return nil, stdinName, usagef("standard input (-) can stand for one recording only")
	}
	a.stdinTaken = true
	return io.NopCloser(a.in), stdinName, nil
}

// source is where a recording comes from. It can be listened to more than once.
type source interface {
	name() string // in findings and messages
	listen() (*audio.Record, error)
}

// analyse listens and looks for tones.
func analyse(s source, cfg record.Config) (*record.Analysis, error) {
	rec, err := s.listen()
	if err != nil {
		return nil, err
	}
	analysis, err := record.Analyze(signalOf(rec), cfg)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.name(), plainError{err})
	}
	return analysis, nil
}

// held is a source that is in memory already.
type held struct {
	called string
	record *audio.Record
}

func (h held) name() string                   { return h.called }
func (h held) listen() (*audio.Record, error) { return h.record, nil }

// tape is a recording in a file, read anew each time, or on standard input, kept.
type tape struct {
	app      *app
	file     string
	channels []int // counted from 1; nil for the first two
	kept     *audio.Record
	told     bool
}

func (t *tape) name() string {
	if t.file == "-" {
		return stdinName
	}
	return t.file
}

// listen reads the recording. What the file says about itself is talk.
func (t *tape) listen() (*audio.Record, error) {
	if t.kept != nil {
		return t.kept, nil
	}
	if err := t.app.ctx.Err(); err != nil {
		return nil, err
	}
	in, name, err := t.app.open(t.file)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	record, err := wave.ReadAll(in, t.channels)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, plainError{err})
	}
	if t.file == "-" {
		t.kept = record
	}
	if !t.told {
		t.app.tellEvents(name, record.Events)
		t.told = true
	}
	return record, nil
}

// tellEvents says what a file has told about itself.
func (a *app) tellEvents(name string, events []audio.Event) {
	for _, e := range events {
		a.say("%s: %s.", name, e.Detail)
	}
}

func signalOf(r *audio.Record) record.Signal {
	return record.Signal{RateHz: r.RateHz, Channels: r.Channels, Bits: r.Bits}
}

// plainError drops the name of the package from an error that is put behind the
// name of a file.
type plainError struct{ err error }

func (e plainError) Error() string { return plain(e.err) }
func (e plainError) Unwrap() error { return e.err }
