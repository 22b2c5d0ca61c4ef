package live

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/fixture"
)

// Pruned is what was taken out of a folder.
type Pruned struct {
	Files []string // recordings, the oldest first
	Bytes int64
}

// Prune takes the oldest recordings out of a folder until the others have no more than so
// many bytes, or until all that are left are wanted. Each is a WAV and a JSON. Nobody may
// record into the folder meanwhile. The manifest goes first: whatever ends Prune early,
// the manifest lists no recording that is gone, and the next Prune takes what was left
// over. Names of recordings that are gone are not given again.
func Prune(dir string, most int64, wanted func(file string, role fixture.Role) bool) (*Pruned, error) {
	f := &Folder{dir: dir, manifest: manifest{Schema: manifestSchema, Jig: "jig.toml"}}
	if err := f.readManifest(); err != nil {
		return nil, err
	}
	list, total, err := f.recordings()
	if err != nil {
		return nil, err
	}
	out := &Pruned{}
	var going []recording
	for _, r := range list {
		if total <= most {
			break
		}
		if wanted(r.file, r.role) {
			continue
		}
		going = append(going, r)
		total -= r.bytes
	}
	if len(going) == 0 {
		return out, nil
	}
	if err := f.forget(going); err != nil {
		return nil, err
	}
	for _, r := range going {
		for _, name := range r.names {
			if err := os.Remove(filepath.Join(dir, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return out, err
			}
		}
		out.Files, out.Bytes = append(out.Files, r.file), out.Bytes+r.bytes
	}
	return out, nil
}

// recording is one in a folder.
type recording struct {
	file  string // WAV
	role  fixture.Role
	names []string // of its files that are there
	bytes int64
	order int // in the manifest; negative for one that it does not list
}

// recordings lists those in a folder, the oldest first. What the manifest does not list
// was left over by a program that was killed, and comes before all others.
func (f *Folder) recordings() (list []recording, total int64, err error) {
	files, err := os.ReadDir(f.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, 0, nil
	}
	if err != nil {
		return nil, 0, err
	}
	known := map[string]*recording{}
	for i, e := range f.manifest.Recordings {
		known[e.File] = &recording{file: e.File, role: fixture.Role(e.Role), order: i}
	}
	for _, file := range files {
		ext := filepath.Ext(file.Name())
		stem := strings.TrimSuffix(file.Name(), ext)
		role, _, numbered := numberOf(stem)
		if ext != ".wav" && ext != ".json" || !numbered || !file.Type().IsRegular() {
			continue
		}
		info, err := file.Info()
		if err != nil {
			return nil, 0, err
		}
		r := known[stem+".wav"]
		if r == nil {
			role, _, _ = strings.Cut(role, "-")
			r = &recording{file: stem + ".wav", role: fixture.Role(role), order: -1}
			known[r.file] = r
		}
		r.names, r.bytes, total = append(r.names, file.Name()), r.bytes+info.Size(), total+info.Size()
	}
	for _, r := range known {
		list = append(list, *r)
	}
	slices.SortFunc(list, func(a, b recording) int { return cmp.Or(a.order-b.order, strings.Compare(a.file, b.file)) })
	return list, total, nil
}

// forget takes recordings out of the manifest and notes the numbers that they had.
func (f *Folder) forget(going []recording) error {
	gone := map[string]bool{}
	if f.manifest.Numbered == nil {
		f.manifest.Numbered = map[string]int{}
	}
	for _, r := range going {
		gone[r.file] = true
		if stem, n, ok := numberOf(strings.TrimSuffix(r.file, ".wav")); ok {
			f.manifest.Numbered[stem] = max(n, f.manifest.Numbered[stem])
		}
	}
	f.manifest.Recordings = slices.DeleteFunc(f.manifest.Recordings, func(e entry) bool { return gone[e.File] })
	f.manifest.Recordings = append([]entry{}, f.manifest.Recordings...)
	return f.write()
}

// numberOf takes the name of a recording, without its ending, apart.
func numberOf(name string) (stem string, n int, ok bool) {
	i := strings.LastIndexByte(name, '-')
	if i < 0 {
		return "", 0, false
	}
	n, err := strconv.Atoi(name[i+1:])
	role, _, _ := strings.Cut(name, "-")
	known := slices.Contains([]fixture.Role{fixture.Open, fixture.Short, fixture.LoadRole, fixture.PartRole}, fixture.Role(role))
	return name[:i], n, err == nil && n > 0 && known
}

// String says what was taken away.
func (p *Pruned) String() string {
	n := len(p.Files)
	switch n {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("The recording %s was removed", p.Files[0])
	}
	return fmt.Sprintf("The oldest %d recordings were removed", n)
}
