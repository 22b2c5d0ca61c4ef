package page

import (
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/parts"
)

const (
	sortSchema = "wheatear.sorting/2"       // of what the interface tells of a lot
	lotSchema  = "wheatear.bench-sorting/2" // of the file that names the lot of the page
	sortName   = "sorting.json"
	lotsName   = "sorted" // folder of lots, each a file of the command sort
	mostSorted = 100_000
)

// sortFile names the lot of the page. The parts are in a file of their own, to which
// each is added.
type sortFile struct {
	Schema  string      `json:"schema"`
	Request SortRequest `json:"request"`
}

// lot is a run of parts that the page sorts. Its fields are guarded by the lock of the
// bench.
type lot struct {
	*sortWants
	file    *run.File
	name    string // of the file
	m       *report.Measurement
	version int // counts up with every change, from a drawn beginning: a page tells by it what is new
	entered int // version that the notebook has
	pass    int
	fail    int
	stage   SortStage
	cue     string
	made    *madeSheet // of the version that somebody asked for last
}

// readSorting opens the lot of the page. One of a version that kept no values cannot go
// on: its file is put among the lots, as it is.
func (d *desk) readSorting() error {
	var f sortFile
	if err := readJSON(d.path(sortName), &f); err != nil || f.Schema == "" {
		return err
	}
	if f.Schema != lotSchema {
		return d.putOldLotAside()
	}
	w, err := f.Request.read()
	if err != nil {
		return fmt.Errorf("page: %s: %w", d.path(sortName), err)
	}
	d.sorting, err = d.openLot(w, d.measurement())
	return err
}

func (d *desk) putOldLotAside() error {
	if err := os.MkdirAll(d.path(lotsName), 0o700); err != nil {
		return err
	}
	for n := 1; ; n++ {
		to := filepath.Join(d.path(lotsName), fmt.Sprintf("earlier-version-%d.json", n))
		if _, err := os.Stat(to); errors.Is(err, fs.ErrNotExist) {
			return os.Rename(d.path(sortName), to)
		}
	}
}

// keepSorting names the lot of the page for the next start.
func (d *desk) keepSorting() error {
	return writeJSON(d.path(sortName), sortFile{lotSchema, d.sorting.SortRequest})
}

// lotFile is the file of a lot. Names that are not plain are told apart by a sum.
func lotFile(name string) string {
	plain := strings.Trim(slug(name), "-")
	const long = 60
	if plain != name || plain == "" || len(plain) > long {
		plain = fmt.Sprintf("%s-%08x", plain[:min(len(plain), long)], crc32.ChecksumIEEE([]byte(name)))
	}
	return strings.TrimPrefix(plain, "-") + ".csv"
}

// freeLot is a name for a lot that is not taken.
func (d *desk) freeLot(expect string) string {
	for n := 1; ; n++ {
		name := fmt.Sprintf("%s, lot %d", expect, n)
		if _, err := os.Stat(filepath.Join(d.path(lotsName), lotFile(name))); errors.Is(err, fs.ErrNotExist) {
			return name
		}
	}
}

// openLot opens the file of a lot, or begins it.
func (d *desk) openLot(w *sortWants, m *report.Measurement) (*lot, error) {
	if err := os.MkdirAll(d.path(lotsName), 0o700); err != nil {
		return nil, err
	}
	l := &lot{sortWants: w, name: filepath.Join(d.path(lotsName), lotFile(w.Lot)), m: m}
	var err error
	if l.file, err = run.Open(l.name, run.Kind{Unit: w.expected.Unit, Expected: run.Expectation(w.expected)}); err != nil {
		return nil, err
	}
	for _, p := range l.file.Parts() {
		l.count(p.Verdict, 1)
	}
	d.lotVersions += 1 << 20 // no lot has a version of another one
	l.version = d.lotVersions
	l.entered = l.version
	return l, nil
}

// count adds n to the parts of a verdict.
func (l *lot) count(verdict string, n int) {
	switch parts.Outcome(verdict) {
	case parts.Pass:
		l.pass += n
	case parts.Fail:
		l.fail += n
	}
}

// add puts a part behind the others; it is on the disk then.
func (l *lot) add(p run.Part) (run.Part, error) {
	if len(l.file.Parts()) >= mostSorted {
		return p, conflict("%d parts are enough for one lot; begin another", mostSorted)
	}
	p, err := l.file.Add(p)
	if err != nil {
		return p, fmt.Errorf("part %d was read, but could not be written: %w", p.Number, err)
	}
	l.count(p.Verdict, 1)
	l.version++
	return p, nil
}

// clearLot puts the file of a lot aside and opens an empty one in its place.
func (d *desk) clearLot(l *lot, stamp string) error {
	if len(l.file.Parts()) == 0 {
		return nil
	}
	dir := filepath.Join(d.path(lotsName), "cleared")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	if err := l.file.Close(); err != nil {
		return err
	}
	base := strings.TrimSuffix(filepath.Base(l.name), ".csv")
	if err := os.Rename(l.name, asideName(dir, base, stamp)); err != nil {
		return err
	}
	fresh, err := d.openLot(l.sortWants, l.m)
	if err != nil {
		return err
	}
	fresh.stage, fresh.cue = l.stage, l.cue
	*l = *fresh // whoever sorts into it goes on
	return nil
}

// view is the lot in short; nil for none. The lock is held.
func (l *lot) view() *SortView {
	if l == nil {
		return nil
	}
	list := l.file.Parts()
	v := &SortView{Request: l.SortRequest, File: filepath.Base(l.name), Version: l.version, Parts: len(list),
		Pass: l.pass, Fail: l.fail, Undecided: len(list) - l.pass - l.fail, Stage: l.stage, Cue: l.cue}
	if len(list) > 0 {
		doc := result.NewSorted(l.m.Document(), l.expected, l.Expect, "", nil, list[len(list)-1:])
		last := sortedPart(&doc.Parts[0], doc.Limits)
		last.Rule = ""
		v.Begun, v.Last = &list[0].At, &last
	}
	return v
}

// asideName is one that no lot has yet: the clock may have been set back.
func asideName(dir, base, stamp string) string {
	base = filepath.Join(dir, base+"-"+stamp)
	name := base + ".csv"
	for n := 2; exists(name); n++ {
		name = fmt.Sprintf("%s-%d.csv", base, n)
	}
	return name
}

func exists(name string) bool {
	_, err := os.Lstat(name)
	return err == nil
}
