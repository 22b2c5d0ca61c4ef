// Package errkind gives errors a kind that a caller can ask for by errors.Is, without
// a word of it in the message.
package errkind

import "fmt"

type of struct {
	error
	kind error
}

// Errorf is fmt.Errorf with a kind beside what it wraps.
func Errorf(kind error, format string, args ...any) error {
	return &of{fmt.Errorf(format, args...), kind}
}

// Unwrap returns the error itself and its kind.
func (e *of) Unwrap() []error { return []error{e.error, e.kind} }
