package cli

import (
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// moment is a flag for a day, a time, or how long ago.
type moment struct {
	text string
	at   func(now time.Time) time.Time // nil where it is not given
}

func (m *moment) Set(text string) (err error) {
	m.text = text
	m.at, err = notebook.ParseMoment(text)
	return err
}

func (m *moment) String() string { return m.text }
func (m *moment) Type() string   { return "WHEN" }

// before is the time meant, zero where the flag is not given.
func (m *moment) before(now time.Time) time.Time {
	if m.at == nil {
		return time.Time{}
	}
	return m.at(now)
}
