//go:build !unix

package portaudio

import (
	"io"
	"os"
)

// hush does nothing: the libraries print to the terminal on Unix only.
func hush(io.Writer) (restore func()) { return func() {} }

// Stderr returns os.Stderr, which nothing is turned away from.
func Stderr() *os.File { return os.Stderr }
