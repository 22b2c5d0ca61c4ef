package page

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// book is the notebook's file, which is opened when somebody looks into it. It has a
// lock of its own: whatever it takes to read it, the bench goes on.
type book struct {
	file     string // empty where it is switched off
	patience time.Duration
	free     chan struct{} // holds a token for each that looks into it
	changes  atomic.Int64  // made from here

	mu sync.Mutex // guards what is below
	n  *notebook.Notebook
	is os.FileInfo // of the file that is open
}

// bookPatience is how long a look into the notebook may take. A hundred thousand
// entries are searched within a tenth of a second.
const bookPatience = 10 * time.Second

// mostLooking may look into it at once; more wait.
const mostLooking = 4

func newBook(file string) *book {
	return &book{file: file, patience: bookPatience, free: make(chan struct{}, mostLooking)}
}

// errNotBegun says that nothing has been written into the notebook yet.
var errNotBegun = errors.New("the notebook is not there yet: the first result makes it")

// NotebookView says where the notebook is, and how often it was changed from here.
type NotebookView struct {
	File    string `json:"file"`
	Changes int64  `json:"changes"`
}

func (k *book) view() *NotebookView {
	if k.file == "" {
		return nil
	}
	return &NotebookView{k.file, k.changes.Load()}
}

// lookUp looks something up in the notebook, and waits no longer than its patience, not
// even for a disk that does not answer. The bench's lock is not held.
func lookUp[T any](ctx context.Context, k *book, look func(context.Context, *notebook.Notebook) (T, error)) (found T, err error) {
	if k.file == "" {
		return found, notFound("the notebook is switched off: start wheatear serve without --no-notebook, or let %s name a file", notebook.Env)
	}
	ctx, cancel := context.WithTimeout(ctx, k.patience)
	defer cancel()
	select {
	case k.free <- struct{}{}:
	case <-ctx.Done():
		return found, k.status(ctx.Err())
	}
	type answer struct {
		found T
		err   error
	}
	done := make(chan answer, 1) // so that one that comes too late disturbs nobody
	go func() {
		defer func() { <-k.free }()
		var a answer
		a.err = k.look(ctx, func(n *notebook.Notebook) (err error) {
			a.found, err = look(ctx, n)
			return err
		})
		done <- a
	}()
	select {
	case a := <-done:
		return a.found, k.status(a.err)
	case <-time.After(k.patience + k.patience/10):
		return found, k.status(context.DeadlineExceeded)
	}
}

// look opens the notebook where it is not open, and closes it after trouble, so that
// the next one begins anew.
func (k *book) look(ctx context.Context, look func(*notebook.Notebook) error) error {
	n, err := k.open(ctx)
	if err != nil {
		return err
	}
	err = look(n)
	if isTrouble(err) {
		k.drop(n)
	}
	return err
}

// open returns the notebook of the file that is there now: it may have been moved away
// since it was opened, and another begun.
func (k *book) open(ctx context.Context) (*notebook.Notebook, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	is, err := os.Stat(k.file)
	if k.n != nil && err == nil && os.SameFile(is, k.is) {
		return k.n, nil
	}
	k.close()
	if errors.Is(err, fs.ErrNotExist) {
		return nil, errNotBegun
	}
	n, err := notebook.OpenToRead(ctx, k.file)
	if err != nil {
		return nil, err
	}
	k.n, k.is = n, is
	return n, nil
}

// drop closes a notebook, if it is still the one in use.
func (k *book) drop(n *notebook.Notebook) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.n == n {
		k.close()
	}
}

// close closes what is open; what is wrong with that is no matter, as nothing is
// written here but in whole. The lock is held.
func (k *book) close() {
	if k.n != nil {
		_ = k.n.Close()
	}
	k.n, k.is = nil, nil
}

// shut closes the notebook at the end. One that is still being opened, on a disk that
// does not answer, is not waited for.
func (k *book) shut() {
	if k.mu.TryLock() {
		defer k.mu.Unlock()
		k.close()
	}
}

// isTrouble reports whether an error is of the notebook itself.
func isTrouble(err error) bool {
	var known *statusError
	return err != nil && !errors.As(err, &known) && !errors.Is(err, notebook.ErrUnknown) && !errors.Is(err, errNotBegun) && !errors.Is(err, context.Canceled)
}

// status is what a request is answered with: trouble with the notebook is none of the
// page, and may be over the next time.
func (k *book) status(err error) error {
	switch {
	case errors.Is(err, notebook.ErrUnknown), errors.Is(err, errNotBegun):
		return notFound("%w", err)
	case errors.Is(err, context.DeadlineExceeded):
		err = fmt.Errorf("notebook: %s: it did not answer within %v: see what is wrong with its disk, or name another file with %s", k.file, k.patience, notebook.Env)
	case !isTrouble(err):
		return err
	}
	return &statusError{503, err}
}
