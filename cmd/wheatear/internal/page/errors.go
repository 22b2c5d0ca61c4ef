package page

import (
	"errors"
	"fmt"
	"net/http"

	"example.org/wheatear/audio"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/report"
)

// statusError is an error that knows what a request is answered with.
type statusError struct {
	status int
	err    error
}

func (e *statusError) Error() string { return e.err.Error() }
func (e *statusError) Unwrap() error { return e.err }

// invalid is a request that is not understood.
func invalid(format string, args ...any) error {
	return &statusError{http.StatusBadRequest, fmt.Errorf(format, args...)}
}

// notFound is a request for what is not there.
func notFound(format string, args ...any) error {
	return &statusError{http.StatusNotFound, fmt.Errorf(format, args...)}
}

// conflict is a request that does not fit how things stand.
func conflict(format string, args ...any) error {
	return &statusError{http.StatusConflict, fmt.Errorf(format, args...)}
}

// problem is what a refused request is answered with.
type problem struct {
	Error string        `json:"error"`
	Owner *activityView `json:"owner,omitempty"` // of the card, where that is why
}

// problemOf turns an error into an answer.
func problemOf(err error) (int, problem) {
	p := problem{Error: report.Plain(err)}
	var busy *BusyError
	var known *statusError
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &busy):
		p.Owner = &busy.Owner
		return http.StatusConflict, p
	case errors.As(err, &known):
		return known.status, p
	case errors.Is(err, ErrNoJig), errors.Is(err, ErrCautions), errors.Is(err, audio.ErrBusy), errors.Is(err, notebook.ErrHurt):
		return http.StatusConflict, p
	case errors.Is(err, ErrListeners):
		return http.StatusServiceUnavailable, p
	case errors.As(err, &tooLong):
		return http.StatusRequestEntityTooLarge, problem{Error: fmt.Sprintf("a request of more than %d bytes is not taken", tooLong.Limit)}
	}
	return http.StatusInternalServerError, p
}
