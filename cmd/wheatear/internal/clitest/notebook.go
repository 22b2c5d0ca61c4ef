package clitest

import (
	"fmt"
	"os"
	"path/filepath"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// OwnNotebook gives the tests of a package a notebook and benches of their own, so that they never
// touch those of whoever runs them. Call what it returns at the end.
func OwnNotebook() func() {
	dir, err := os.MkdirTemp("", "wheatear-notebook-")
	if err == nil {
		err = os.Setenv(notebook.Env, filepath.Join(dir, "notebook.db"))
	}
	if err == nil {
		err = os.Setenv("XDG_DATA_HOME", dir) // benches
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "no notebook for the tests:", err)
		os.Exit(1)
	}
	return func() { os.RemoveAll(dir) }
}
