package page

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// readJSON fills v from a file; one that is not there leaves it as it is.
func readJSON(name string, v any) error {
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = json.Unmarshal(text, v)
	}
	if err != nil {
		return fmt.Errorf("page: %s: %w", name, err)
	}
	return nil
}

// writeJSON writes v so that there is always a whole file.
func writeJSON(name string, v any) error {
	text, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	return writeWhole(name, append(text, '\n'))
}

// writeWhole writes a file beside the one of that name and gives it the name when
// it is complete and on the disk. Nobody else may read it, as os.CreateTemp has it.
func writeWhole(name string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+".*.part")
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}
