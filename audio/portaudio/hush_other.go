//go:build !unix

package portaudio

import "io"

// hush does nothing: the libraries print to the terminal on Unix only.
func hush(io.Writer) (restore func()) { return func() {} }
