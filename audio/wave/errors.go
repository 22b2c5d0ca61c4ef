package wave

import (
	"errors"
	"fmt"
)

// Causes found inside a [FormatError]; test for them with errors.Is.
var (
	ErrNotWave     = errors.New("not a RIFF/WAVE file")
	ErrNoFormat    = errors.New("no format chunk before the data")
	ErrNoData      = errors.New("no data chunk")
	ErrFormat      = errors.New("impossible format")
	ErrUnsupported = errors.New("sample format not supported")
	ErrChannels    = errors.New("channel not in the file")
)

// Errors of the writer.
var (
	ErrClosed = errors.New("wave: writer is closed")
	ErrFrames = errors.New("wave: wrong number of samples")
)

// FormatError says what is wrong with a file, and where.
type FormatError struct {
	Offset int64  // byte of the file, counted from 0
	Chunk  string // name of the chunk concerned, "" outside of any
	Err    error  // the cause; wraps one of the package's sentinels
}

// Error gives the place and the cause in one line.
func (e *FormatError) Error() string {
	if e.Chunk == "" {
		return fmt.Sprintf("wave: byte %d: %v", e.Offset, e.Err)
	}
	return fmt.Sprintf("wave: byte %d, chunk %q: %v", e.Offset, e.Chunk, e.Err)
}

// Unwrap returns the cause.
func (e *FormatError) Unwrap() error { return e.Err }
