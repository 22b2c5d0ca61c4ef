package tape

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"example.org/wheatear/audio"
)

// Folder keeps runs. It is safe for concurrent use.
type Folder struct {
	dir string

	mu    sync.Mutex
	next  int
	label string
	saved []string
	err   error
}

// NewFolder returns the folder dir, which is made if it is not there. Numbers go on
// after those of the runs in it.
func NewFolder(dir string) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, fmt.Errorf("tape: %w", err)
	}
	sheets, err := sheets(dir)
	if err != nil {
		return nil, err
	}
	f := &Folder{dir: dir, next: 1}
	for _, s := range sheets {
		var n int
		if _, err := fmt.Sscanf(filepath.Base(s), "%d", &n); err == nil {
			f.next = max(f.next, n+1)
		}
	}
	return f, nil
}

// Label is put into the names of the files of the runs that follow. What cannot
// be in the name of a file is replaced.
func (f *Folder) Label(label string) {
	clean := func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|.`, r) || r <= ' ' {
			return '_'
		}
		return r
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.label = strings.Map(clean, label)
}

// Saved lists the sheets that were written, in order.
func (f *Folder) Saved() []string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return append([]string(nil), f.saved...)
}

// Err is the first error in writing, if there was one. A run is not spoilt by
// it: its record is whole, and has an event that says so.
func (f *Folder) Err() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.err
}

// Keep returns a card that does what card does and keeps every run, also those
// that fail. It is an [audio.Monitor] if card is one.
func (f *Folder) Keep(card audio.Card) audio.Card {
	k := keeper{folder: f, card: card}
	if m, ok := card.(audio.Monitor); ok {
		return &monitor{k, m}
	}
	return &k
}

type keeper struct {
	folder *Folder
	card   audio.Card
}

type monitor struct {
	keeper
	monitor audio.Monitor
}

var _ audio.Monitor = (*monitor)(nil)

func (k *keeper) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	rec, err := k.card.Run(ctx, cfg, stimulus)
	return k.keep(cfg, len(stimulus), rec, err)
}

func (m *monitor) RunMonitored(ctx context.Context, cfg audio.Config, stimulus []float64, watch audio.Watch) (*audio.Record, error) {
	rec, err := m.monitor.RunMonitored(ctx, cfg, stimulus, watch)
	return m.keep(cfg, len(stimulus), rec, err)
}

// keep writes down how a run ended, and passes that on.
func (k *keeper) keep(cfg audio.Config, stimulusFrames int, rec *audio.Record, err error) (*audio.Record, error) {
	full, bad := cfg.WithDefaults(stimulusFrames)
	if bad != nil { // no card ran with that
		return rec, err
	}
	s := newSheet(full, stimulusFrames, rec, err)
	if d, ok := k.card.(audio.Describer); ok {
		device := d.Describe()
		s.Device = &device
	}
	if failed := k.folder.save(s, rec); failed != nil && rec != nil {
		rec.Events = append(rec.Events, audio.Event{Kind: audio.Remark, Frame: -1, Detail: fmt.Sprintf("this run could not be kept: %v", failed)})
	}
	return rec, err
}

// save writes the samples and then the sheet.
func (f *Folder) save(s *Sheet, rec *audio.Record) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	name := fmt.Sprintf("%03d", f.next)
	if f.label != "" {
		name += "-" + f.label
	}
	f.next++
	s.Label = f.label
	err := f.write(s, name, rec)
	if err != nil && f.err == nil {
		f.err = fmt.Errorf("tape: keeping run %s: %w", name, err)
	}
	return err
}

func (f *Folder) write(s *Sheet, name string, rec *audio.Record) error {
	if rec != nil {
		s.Wave = name + ".wav"
		if err := writeWave(filepath.Join(f.dir, s.Wave), rec); err != nil {
			return err
		}
	}
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	path := filepath.Join(f.dir, name+".json")
	if err := os.WriteFile(path, append(data, '\n'), 0o666); err != nil {
		return err
	}
	f.saved = append(f.saved, path)
	return nil
}

// sheets lists those of a folder in the order of their runs.
func sheets(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("tape: %w", err)
	}
	var out []string
	for _, e := range entries { // sorted by name
		if filepath.Ext(e.Name()) == ".json" && e.Name()[0] >= '0' && e.Name()[0] <= '9' {
			out = append(out, filepath.Join(dir, e.Name()))
		}
	}
	return out, nil
}

// ErrNoMore says that every run of a folder has been played back.
var ErrNoMore = errors.New("tape: no more runs are kept")
