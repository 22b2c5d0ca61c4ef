package live

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/kept"
	"example.org/wheatear/lockin/stimulus"
)

// Folder is a directory in which everything is kept that sessions record: each
// record as WAV and JSON, the jig file, and a manifest of what was connected when.
type Folder struct {
	dir      string
	manifest manifest
	last     map[string]int // highest number of each kind of name
}

// manifestName is the file that says what the others are.
const manifestName = "manifest.json"

// manifestSchema names its form.
const manifestSchema = "wheatear.recordings/1"

// manifest lists records in the order in which they were made.
type manifest struct {
	Schema     string  `json:"schema"`
	Jig        string  `json:"jig"` // file in the same directory
	Recordings []entry `json:"recordings"`

	// Numbered are the highest numbers of recordings that were removed, by the rest of
	// their names: no other gets the name of one that somebody may still speak of.
	Numbered map[string]int `json:"numbered,omitempty"`
}

// entry is a record.
type entry struct {
	File    string    `json:"file"`
	Role    string    `json:"role"`
	Load    *string   `json:"load"`
	Part    *string   `json:"part"`
	TonesHz []float64 `json:"tones_hz"`
	Used    bool      `json:"used"`
	Why     string    `json:"why,omitempty"` // it was not used
}

// OpenFolder makes the directory if need be and puts the jig file into it. Records
// go behind those that are there; a different jig file is an error, since the
// older records belong to the other.
func OpenFolder(dir string, jig []byte) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	f := &Folder{dir: dir, last: map[string]int{}, manifest: manifest{Schema: manifestSchema, Jig: "jig.toml"}}
	if err := f.readManifest(); err != nil {
		return nil, err
	}
	name := filepath.Join(dir, f.manifest.Jig)
	old, err := os.ReadFile(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err = os.WriteFile(name, jig, 0o600); err != nil {
			os.Remove(name)
			return nil, err
		}
	case err == nil && string(old) != string(jig):
		return nil, fmt.Errorf("live: %s is another jig file than the one in use; keep the records of each jig in a folder of their own", name)
	case err != nil:
		return nil, err
	}
	return f, f.write() // tried before anything is played
}

// readManifest reads what is there already.
func (f *Folder) readManifest() error {
	name := filepath.Join(f.dir, manifestName)
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var m manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return fmt.Errorf("live: %s: %w", name, err)
	}
	if m.Schema != manifestSchema || m.Jig == "" || m.Jig != filepath.Base(m.Jig) {
		return fmt.Errorf("live: %s: schema %q with jig file %q; want %q and a file beside it", name, m.Schema, m.Jig, manifestSchema)
	}
	f.manifest = m
	return nil
}

// next is the file of the next record of a subject.
func (f *Folder) next(what Subject) string {
	stem := string(what.Role)
	switch {
	case what.Load != nil:
		stem += "-" + plainName(strings.SplitN(what.Load.String(), "/", 2)[0])
	case what.Name != "":
		stem += "-" + plainName(what.Name)
	}
	f.last[stem] = max(f.last[stem], f.manifest.Numbered[stem])
	for {
		f.last[stem]++
		name := filepath.Join(f.dir, fmt.Sprintf("%s-%d.wav", stem, f.last[stem]))
		if _, err := os.Lstat(name); err != nil {
			return name
		}
	}
}

// plainName keeps what is safe in the name of a file.
func plainName(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '.', r == '_', r == '-':
			return r
		}
		return '_'
	}, strings.ReplaceAll(text, " ", ""))
}

// keep writes a record as soon as it is there, before anybody judges it.
func (s *Session) keep(t *Take, cfg audio.Config, plan *stimulus.Plan, cause error) error {
	f := s.opts.Folder
	if f == nil {
		return nil
	}
	full, err := cfg.WithDefaults(plan.Frames())
	if err != nil {
		return err
	}
	base := strings.TrimSuffix(t.Observation.File, ".wav")
	run := kept.Run{Config: full, StimulusFrames: plan.Frames(), Device: s.Device(), Record: t.Record, Err: cause}
	if err := kept.Write(base, run); err != nil {
		return err
	}
	e := entry{File: filepath.Base(t.Observation.File), Role: string(t.Subject.Role), TonesHz: Frequencies(plan), Why: "not judged"}
	if t.Subject.Load != nil {
		text := t.Subject.Load.String()
		e.Load = &text
	}
	if t.Subject.Name != "" {
		e.Part = &t.Subject.Name
	}
	f.manifest.Recordings = append(f.manifest.Recordings, e)
	return f.write()
}

// note puts down how a record was judged.
func (s *Session) note(t *Take) error {
	f := s.opts.Folder
	if f == nil {
		return nil
	}
	for i := range f.manifest.Recordings {
		if e := &f.manifest.Recordings[i]; e.File == filepath.Base(t.Observation.File) {
			e.Used, e.Why = len(t.Spoilt) == 0, t.trouble()
		}
	}
	return f.write()
}

// Reject puts down that a sound record was not used after all, and why.
func (s *Session) Reject(t *Take, why string) error {
	f := s.opts.Folder
	if f == nil {
		return nil
	}
	for i := range f.manifest.Recordings {
		if e := &f.manifest.Recordings[i]; e.File == filepath.Base(t.Observation.File) {
			e.Used, e.Why = false, why
		}
	}
	return f.write()
}

// write writes the manifest so that there is always a whole one.
func (f *Folder) write() error {
	text, err := json.MarshalIndent(f.manifest, "", " ")
	if err != nil {
		return err
	}
	name := filepath.Join(f.dir, manifestName)
	if err = os.WriteFile(name+".part", append(text, '\n'), 0o600); err == nil {
		err = os.Rename(name+".part", name)
	}
	if err != nil {
		os.Remove(name + ".part")
	}
	return err
}

// Dir is the directory.
func (f *Folder) Dir() string { return f.dir }
