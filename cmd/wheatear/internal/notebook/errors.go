package notebook

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// What can be wrong with a notebook, for errors.Is.
var (
	ErrFull     = errors.New("the disk is full")
	ErrLocked   = errors.New("another program holds it locked")
	ErrReadOnly = errors.New("it may not be written to")
	ErrDamaged  = errors.New("the file is damaged or no notebook")
	ErrNoFile   = errors.New("it is no ordinary file")
	ErrDisk     = errors.New("the disk cannot be used")
	ErrNewer    = errors.New("a newer version of wheatear wrote it")
	ErrUnknown  = errors.New("there is no such entry")
)

// what to do about each.
var advice = map[error]string{
	ErrFull:     "make room, or name another file with WHEATEAR_NOTEBOOK",
	ErrLocked:   "try again when that has ended",
	ErrReadOnly: "change the rights of file and folder, or name another file with WHEATEAR_NOTEBOOK",
	ErrDamaged:  "move it elsewhere, and a new one is begun; an export can be imported into that",
	ErrNoFile:   "name another file with WHEATEAR_NOTEBOOK",
	ErrDisk:     "see what is wrong with it, or name another file with WHEATEAR_NOTEBOOK",
	ErrHurt:     "wheatear notebook check tells what is left of it and mends what can be mended",
	ErrNewer:    "use that version, or name another file with WHEATEAR_NOTEBOOK",
}

// Error is something wrong with a notebook.
type Error struct {
	File string
	Err  error
}

// Error says what, where and what to do.
func (e *Error) Error() string {
	text := fmt.Sprintf("notebook: %s: %v", e.File, e.Err)
	for cause, what := range advice {
		if errors.Is(e.Err, cause) {
			return text + "; " + what
		}
	}
	var path *fs.PathError
	if errors.As(e.Err, &path) && !errors.Is(path, fs.ErrNotExist) {
		text += "; name another file with " + Env
	}
	return text
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// causes says which trouble the codes of SQLite stand for.
var causes = map[int]error{
	lib.SQLITE_FULL: ErrFull, lib.SQLITE_BUSY: ErrLocked, lib.SQLITE_LOCKED: ErrLocked, lib.SQLITE_READONLY: ErrReadOnly, lib.SQLITE_PERM: ErrReadOnly,
	lib.SQLITE_IOERR: ErrDisk, lib.SQLITE_CANTOPEN: ErrDisk, lib.SQLITE_IOERR_SHMSIZE: ErrFull,
	lib.SQLITE_CORRUPT: ErrDamaged, lib.SQLITE_NOTADB: ErrDamaged, lib.SQLITE_FORMAT: ErrDamaged,
}

// explain puts what went wrong into words of ours; nil stays nil, and what has been
// explained stays as it is.
func (n *Notebook) explain(err error) error { return explain(n.file, err) }

func explain(file string, err error) error {
	var ours *Error
	var code *sqlite.Error
	switch {
	case err == nil, errors.As(err, &ours):
		return err
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return &Error{file, err}
	case errors.Is(err, syscall.ENOSPC):
		return &Error{file, ErrFull}
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return &Error{file, ErrReadOnly}
	case errors.As(err, &code):
		cause := causes[code.Code()] // the lowest eight bits alone are the kind of trouble
		if cause == nil {
			cause = causes[code.Code()&0xff]
		}
		if cause != nil {
			doing, _ := strings.CutSuffix(err.Error(), code.Error()) // what has been said of where it happened
			return &Error{file, fmt.Errorf("%s%w", doing, cause)}
		}
	}
	return &Error{file, err}
}
