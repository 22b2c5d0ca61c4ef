// Package bench remembers jigs and their calibrations, so that commands need not be told
// them each time. A bench is a jig file and the calibrations made with it; one bench is
// the current one.
//
// Everything lies in one folder:
//
//	current                      the name of the current bench
//	NAME/bench.json              where its jig file is
//	NAME/calibrations/TIME.json  calibrations as calibrate writes them, with
//	NAME/calibrations/TIME.toml  the jig file as it was then
//
// Files are written whole or not at all and never changed, so that several programs can
// use a folder at once.
package bench

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// ErrNone says that no bench is the current one.
var ErrNone = errors.New("bench: there is no current bench: run wheatear setup, or name a jig with --jig FILE")

const schema = "wheatear.bench/1"

// Shelf is the folder with all benches.
type Shelf struct{ dir string }

// Open is the shelf in the user's folder for data.
func Open() (*Shelf, error) {
	dir, err := notebook.Folder()
	if err != nil {
		return nil, err
	}
	return At(filepath.Join(dir, "benches")), nil
}

// At is a shelf in a folder, which need not be there yet.
func At(dir string) *Shelf { return &Shelf{dir} }

// Bench is one of them.
type Bench struct {
	Name string
	Jig  string // its jig file, absolute
	dir  string
}

// file is bench.json.
type file struct {
	Schema string `json:"schema"`
	Jig    string `json:"jig"`
}

// Remember makes the bench of a jig file the current one. The jig's name is that of the
// bench; where another file has it already, a number is added.
func (s *Shelf) Remember(jigName, jigFile string) (*Bench, error) {
	jigFile, err := filepath.Abs(jigFile)
	if err != nil {
		return nil, err
	}
	b, err := s.Of(jigFile)
	if err != nil {
		return nil, err
	}
	if b == nil {
		if b, err = s.add(folderName(jigName), jigFile); err != nil {
			return nil, err
		}
	}
	return b, s.Use(b.Name)
}

// add makes the folder of a bench; a name that is taken gets a number.
func (s *Shelf) add(name, jigFile string) (*Bench, error) {
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return nil, err
	}
	for n := 1; ; n++ {
		b := &Bench{Name: name, Jig: jigFile}
		if n > 1 {
			b.Name = fmt.Sprintf("%s-%d", name, n)
		}
		b.dir = filepath.Join(s.dir, b.Name)
		err := os.Mkdir(b.dir, 0o700)
		if errors.Is(err, fs.ErrExist) && n < 1000 {
			continue
		}
		if err != nil {
			return nil, err
		}
		text, err := json.MarshalIndent(file{schema, jigFile}, "", "  ")
		if err != nil {
			return nil, err
		}
		return b, write(filepath.Join(b.dir, "bench.json"), append(text, '\n'))
	}
}

// folderName makes a name that every file system takes.
func folderName(name string) string {
	name = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return '-'
	}, name)
	name = strings.Trim(name, "-")
	for strings.Contains(name, "--") {
		name = strings.ReplaceAll(name, "--", "-")
	}
	if r := []rune(name); len(r) > 60 {
		name = string(r[:60])
	}
	if name == "" {
		return "bench"
	}
	return name
}

// Use makes a bench the current one.
func (s *Shelf) Use(name string) error {
	if _, err := s.Named(name); err != nil {
		return err
	}
	return write(filepath.Join(s.dir, "current"), []byte(name+"\n"))
}

// Current is the current bench, or ErrNone.
func (s *Shelf) Current() (*Bench, error) {
	text, err := os.ReadFile(filepath.Join(s.dir, "current"))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNone
	}
	if err != nil {
		return nil, err
	}
	return s.Named(strings.TrimSpace(string(text)))
}

// Named is a bench by its name.
func (s *Shelf) Named(name string) (*Bench, error) {
	b := &Bench{Name: name, dir: filepath.Join(s.dir, name)}
	if name == "" || name != filepath.Base(name) || name == ".." {
		return nil, fmt.Errorf("bench: %q is no name of a bench", name)
	}
	text, err := os.ReadFile(filepath.Join(b.dir, "bench.json"))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, s.unknown(name)
	}
	if err != nil {
		return nil, err
	}
	var f file
	if err := json.Unmarshal(text, &f); err != nil || f.Schema != schema || f.Jig == "" {
		return nil, fmt.Errorf("bench: %s is not a bench of this program; move it elsewhere and run wheatear setup again", filepath.Join(b.dir, "bench.json"))
	}
	b.Jig = f.Jig
	return b, nil
}

func (s *Shelf) unknown(name string) error {
	list, err := s.List()
	if err != nil || len(list) == 0 {
		return fmt.Errorf("bench: there is no bench %q: wheatear setup makes one", name)
	}
	var names []string
	for _, b := range list {
		names = append(names, b.Name)
	}
	return fmt.Errorf("bench: there is no bench %q; there are %s", name, strings.Join(names, ", "))
}

// List is all benches, by name. What is no bench is left out.
func (s *Shelf) List() ([]*Bench, error) {
	entries, err := os.ReadDir(s.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var list []*Bench
	for _, e := range entries {
		if b, err := s.Named(e.Name()); e.IsDir() && err == nil {
			list = append(list, b)
		}
	}
	slices.SortFunc(list, func(a, b *Bench) int { return strings.Compare(a.Name, b.Name) })
	return list, nil
}

// Of is the bench of a jig file, or nil.
func (s *Shelf) Of(jigFile string) (*Bench, error) {
	jigFile, err := filepath.Abs(jigFile)
	if err != nil {
		return nil, err
	}
	list, err := s.List()
	for _, b := range list {
		if b.Jig == jigFile {
			return b, nil
		}
	}
	return nil, err
}

// moment orders calibrations by their names.
const moment = "20060102-150405.000000"

// Keep keeps a calibration, with the jig file as it is now, and returns where.
func (b *Bench) Keep(calibration []byte, made time.Time) (string, error) {
	jig, err := os.ReadFile(b.Jig)
	if err != nil {
		return "", err
	}
	// The clock may have been set back; what is made now is the newest all the same.
	list, err := b.Calibrations()
	if err != nil {
		return "", err
	}
	if len(list) > 0 {
		last, err := time.Parse(moment, strings.TrimSuffix(filepath.Base(list[0]), ".json"))
		if err == nil && !made.After(last) {
			made = last.Add(time.Microsecond)
		}
	}
	return b.keep(calibration, jig, made)
}

func (b *Bench) keep(calibration, jig []byte, made time.Time) (string, error) {
	dir := filepath.Join(b.dir, "calibrations")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	for ; ; made = made.Add(time.Microsecond) {
		name := filepath.Join(dir, made.UTC().Format(moment))
		lock, err := os.OpenFile(name+".toml", os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		_, err = lock.Write(jig)
		if closed := lock.Close(); err == nil {
			err = closed
		}
		if err == nil {
			err = write(name+".json", calibration)
		}
		if err != nil {
			os.Remove(name + ".toml")
			return "", err
		}
		return name + ".json", nil
	}
}

// Calibrations are the files of the calibrations kept, the newest first.
func (b *Bench) Calibrations() ([]string, error) {
	list, err := filepath.Glob(filepath.Join(b.dir, "calibrations", "*.json"))
	slices.Sort(list)
	slices.Reverse(list)
	return list, err
}

// JigOf is the jig file as it was when a calibration was kept.
func JigOf(calibration string) ([]byte, error) {
	return os.ReadFile(strings.TrimSuffix(calibration, ".json") + ".toml")
}

// write writes a file whole, or leaves what was there.
func write(name string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".part-*")
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}
