package cli

import (
	"errors"
	"fmt"
)

// Status is how a run went; it is the exit status of the program. Where several
// apply, the lowest of Failed, Usage, Untrusted and OtherVerdict counts.
type Status int

// The exit statuses.
const (
	Done         Status = 0
	Failed       Status = 1 // could not, or only partly
	Usage        Status = 2 // the command line is not understood
	Untrusted    Status = 3 // done, but at least one reading is not to be trusted
	OtherVerdict Status = 4 // a verdict other than pass
)

// join takes another outcome into account.
func (s *Status) join(other Status) {
	if *s == Done || (other != Done && other < *s) {
		*s = other
	}
}

// statusError is an error that knows its exit status.
type statusError struct {
	status Status
	err    error
}

func (e *statusError) Error() string { return e.err.Error() }
func (e *statusError) Unwrap() error { return e.err }

// usagef is an error about the command line itself.
func usagef(format string, args ...any) error {
	return &statusError{Usage, fmt.Errorf(format, args...)}
}

// statusOf returns the exit status that an error stands for.
func statusOf(err error) Status {
	var s *statusError
	if errors.As(err, &s) {
		return s.status
	}
	return Failed
}
