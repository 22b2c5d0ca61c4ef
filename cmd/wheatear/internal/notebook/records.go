package notebook

import (
	"context"
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
func (n *Notebook) KeepRecord(ctx context.Context, name string) (Record, error) {
	r, err := n.keepRecord(ctx, name)
	return r, n.explain(err)
}

func (n *Notebook) keepRecord(ctx context.Context, name string) (Record, error) {
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
	_, err = io.Copy(io.MultiWriter(out, digest), &untilDone{ctx, in})
	if err == nil {
		err = out.Sync()
	}
	if err = errors.Join(err, out.Close()); err != nil {
		return Record{}, err
	}
	r := Record{SHA256: hex.EncodeToString(digest.Sum(nil)), Name: filepath.Base(name)}
	return r, os.Rename(out.Name(), n.RecordFile(r))
}

// untilDone reads until its context is done.
type untilDone struct {
	ctx context.Context
	r   io.Reader
}

func (u *untilDone) Read(p []byte) (int, error) {
	if err := u.ctx.Err(); err != nil {
		return 0, err
	}
	return u.r.Read(p)
}

// keptRecords lists the files in the folder that are ours, with the sums that they are
// named by: empty for copies that were never finished.
func (n *Notebook) keptRecords() (map[string]string, error) {
	list, err := os.ReadDir(n.RecordsDir())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	files := map[string]string{}
	for _, entry := range list {
		file := filepath.Join(n.RecordsDir(), entry.Name())
		sum, _, _ := strings.Cut(entry.Name(), ".")
		switch {
		case isSum(sum):
			files[file] = sum
		case filepath.Ext(file) == ".part":
			files[file] = ""
		}
	}
	return files, err
}
