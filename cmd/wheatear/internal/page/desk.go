package page

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/lockin/fixture"
)

// Files in the folder of a jig.
const (
	calibrationName = "calibration.json"
	guideName       = "calibration-under-way.json"
	sweepName       = "sweep.json"
	readingsName    = "readings.jsonl"
	recordingsName  = "recordings"
)

// openDesk reads what is kept of work with a jig.
func (b *Bench) openDesk(e *jigEntry) (*desk, error) {
	d := &desk{jigEntry: e, faults: map[string]bool{}}
	if err := os.MkdirAll(e.dir, 0o700); err != nil {
		return nil, err
	}
	var err error
	if d.text, err = os.ReadFile(e.file); err != nil {
		return nil, err
	}
	if d.jig, err = readJig(e.file); err != nil {
		return nil, err
	}
	if e.Simulated {
		if err := d.simulate(uint64(b.opts.Now().UnixNano())); err != nil {
			return nil, err
		}
	}
	for _, read := range []func() error{d.readCalibration, d.readGuide, d.readSweep, d.readReadings, d.readTasks, d.readSorting} {
		if err := read(); err != nil {
			return nil, err
		}
	}
	return d, nil
}

// file is a file in the folder of the jig.
func (d *desk) path(name string) string { return filepath.Join(d.dir, name) }

// simulate makes the simulated card. The seed stands for one putting in of parts:
// another program draws other contacts, as another day does.
func (d *desk) simulate(seed uint64) error {
	cfg, err := live.SimulatedJig(d.jig, filepath.Dir(d.jigEntry.file), seed)
	if err != nil {
		return err
	}
	d.config = cfg
	d.card, err = virtual.New(cfg)
	return err
}

func (d *desk) readCalibration() error {
	text, err := os.ReadFile(d.path(calibrationName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		d.cal, err = fixture.ParseCalibration(d.path(calibrationName), text)
	}
	return err
}

// keepCalibration writes a calibration before it is used.
func (d *desk) keepCalibration(cal *fixture.Calibration) error {
	text, err := cal.Encode()
	if err == nil {
		err = writeWhole(d.path(calibrationName), text)
	}
	if err == nil {
		d.cal = cal
	}
	return err
}

// session opens the card. The caller closes it.
func (b *Bench) session(a *activity, d *desk, level *fixture.Level, keep bool) (*live.Session, error) {
	o := live.Options{
		Jig: d.jig, Dir: filepath.Dir(d.jigEntry.file), Level: level,
		Tell:     func(text string) { b.tell(text, false) },
		Progress: a.progress,
		Reading:  b.readingOptions(d),
	}
	if keep {
		folder, err := live.OpenFolder(d.path(recordingsName), d.text)
		if err != nil {
			return nil, err
		}
		o.Folder = folder
	}
	b.mu.Lock()
	card := d.card // another one when a fault is switched on
	b.mu.Unlock()
	if card != nil {
		return live.New(card, o), nil
	}
	return b.opts.OpenCard(a.ctx, o)
}

// readingOptions is what a reading needs to know beside jig and calibration.
func (b *Bench) readingOptions(d *desk) fixture.Options {
	var o fixture.Options
	if d.cal != nil && !d.cal.About.Date.IsZero() {
		o.Age = b.opts.Now().Sub(d.cal.About.Date)
	}
	return o
}
