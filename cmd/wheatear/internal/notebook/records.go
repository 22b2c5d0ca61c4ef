package notebook

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// RecordsDir is the folder beside the notebook in which recordings are kept.
func (n *Notebook) RecordsDir() string { return n.file + ".records" }

// RecordFile is the file of a kept recording. It may be missing: imports bring none.
func (n *Notebook) RecordFile(r Record) string {
	return filepath.Join(n.RecordsDir(), r.SHA256+strings.ToLower(filepath.Ext(r.Name)))
}

// KeepRecord copies a recording into the folder beside the notebook, unless it is
// there already. Give what it returns to the entry that rests on it. The copy is
// complete or not there at all.
func (n *Notebook) KeepRecord(name string) (Record, error) {
	r, err := n.keepRecord(name)
	return r, n.explain(err)
}

func (n *Notebook) keepRecord(name string) (Record, error) {
	in, err := os.Open(name)
	if err != nil {
		return Record{}, err
	}
	defer in.Close()
	if err := os.MkdirAll(n.RecordsDir(), 0o700); err != nil {
		return Record{}, err
	}
	out, err := os.CreateTemp(n.RecordsDir(), "*.part")
	if err != nil {
		return Record{}, err
	}
	defer os.Remove(out.Name()) // in vain once it has its name
	digest := sha256.New()
	_, err = io.Copy(io.MultiWriter(out, digest), in)
	if err == nil {
		err = out.Sync()
	}
	if err = errors.Join(err, out.Close()); err != nil {
		return Record{}, err
	}
	r := Record{SHA256: hex.EncodeToString(digest.Sum(nil)), Name: filepath.Base(name)}
	return r, os.Rename(out.Name(), n.RecordFile(r))
}

// keptRecords lists the recordings in the folder, by their sums.
func (n *Notebook) keptRecords() (map[string]string, error) {
	list, err := os.ReadDir(n.RecordsDir())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	files := map[string]string{}
	for _, entry := range list {
		sum, _, _ := strings.Cut(entry.Name(), ".")
		if isSum(sum) {
			files[sum] = filepath.Join(n.RecordsDir(), entry.Name())
		}
	}
	return files, err
}
