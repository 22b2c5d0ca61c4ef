package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// writeFile writes a file through fill in such a way that the file of that name
// is either the old one or the complete new one: fill writes to a file beside it,
// which takes the name at the very end. What is no ordinary file, such as a
// device or a pipe, is written to directly.
func writeFile(name string, fill func(io.Writer) error) error {
	if real, err := filepath.EvalSymlinks(name); err == nil {
		name = real
	}
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return fillFile(name, os.O_WRONLY, fill)
	}
	beside := fmt.Sprintf("%s.%d.part", name, os.Getpid())
	err := fillFile(beside, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, fill)
	if err == nil {
		err = os.Rename(beside, name)
	}
	if err != nil {
		os.Remove(beside)
	}
	return err
}

func fillFile(name string, how int, fill func(io.Writer) error) error {
	f, err := os.OpenFile(name, how, 0o666)
	if err != nil {
		return err
	}
	err = fill(f)
	if info, bad := f.Stat(); err == nil && bad == nil && info.Mode().IsRegular() {
		err = f.Sync() // a full disk may tell only now
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}
