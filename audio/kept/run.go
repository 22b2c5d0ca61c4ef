package kept

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/wave"
)

// Run is one run of a card: what it was told, what it did.
type Run struct {
	Config         audio.Config // with its defaults filled in
	StimulusFrames int
	Device         audio.Device  // of which Name is empty where the card does not tell
	Record         *audio.Record // nil for a run that failed
	Err            error         // of a run that failed or was cut short
}

// schema names the form of the JSON file.
const schema = "wheatear.run/1"

// runDoc is the JSON beside the WAV.
type runDoc struct {
	Schema         string       `json:"schema"`
	Settings       audio.Config `json:"settings"`
	StimulusFrames int          `json:"stimulus_frames"`
	Device         audio.Device `json:"device"`
	Record         *recordDoc   `json:"record"`
	Error          string       `json:"error,omitempty"`
}

type recordDoc struct {
	Source string     `json:"source"`
	RateHz float64    `json:"rate_hz"`
	Frames int        `json:"frames"`
	Bits   int        `json:"bits"`
	Events []eventDoc `json:"events"`
}

type eventDoc struct {
	Kind   audio.EventKind `json:"kind"`
	Frame  int64           `json:"frame"`
	Detail string          `json:"detail"`
}

// Write keeps a run as base.wav and base.json, over older files of that name, for
// their owner alone. A run that failed has no WAV. Either all of it is on the disk and
// has been read back, or there is an error and nothing of it is left.
func Write(base string, r Run) error {
	doc := runDoc{Schema: schema, Settings: r.Config, StimulusFrames: r.StimulusFrames, Device: r.Device}
	if r.Err != nil {
		doc.Error = r.Err.Error()
	}
	text, err := r.document(doc)
	if err != nil {
		return fmt.Errorf("kept: %s.json: %w", base, err)
	}
	if r.Record != nil {
		err = writeWhole(base+".wav", func(f *os.File) error { return writeSamples(f, r.Record) })
	}
	if err == nil {
		err = writeWhole(base+".json", func(f *os.File) error { _, err := f.Write(text); return err })
	}
	if err == nil && r.Record != nil {
		_, err = Read(base)
	}
	if err != nil {
		os.Remove(base + ".wav")
		os.Remove(base + ".json")
		return fmt.Errorf("kept: nothing of %s: %w", base, err)
	}
	return nil
}

// document is what stands beside the samples.
func (r Run) document(doc runDoc) ([]byte, error) {
	if r.Record != nil {
		doc.Record = &recordDoc{r.Record.Source, r.Record.RateHz, r.Record.Frames(), r.Record.Bits, []eventDoc{}}
		for _, e := range r.Record.Events {
			doc.Record.Events = append(doc.Record.Events, eventDoc(e))
		}
	}
	text, err := json.MarshalIndent(doc, "", " ")
	return append(text, '\n'), err
}

// writeWhole writes a file beside the one of that name, which gets the name when it is
// complete and on the disk.
func writeWhole(name string, fill func(*os.File) error) error {
	f, err := os.OpenFile(name+".part", os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	if err = errors.Join(fill(f), f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}

func writeSamples(w io.Writer, rec *audio.Record) error {
	bits, float := width(rec)
	_, err := wave.WriteAll(w, rec, bits, float)
	return err
}

// width is the narrowest kind of sample that loses nothing: integers where the
// record claims so many bits and holds no more, else floating point.
func width(rec *audio.Record) (bits int, float bool) {
	if rec.Bits >= 2 && rec.Bits <= 32 && fits(rec, func(v float64) bool { return whole(v, rec.Bits) }) {
		return rec.Bits, false
	}
	if fits(rec, func(v float64) bool { return float64(float32(v)) == v || math.IsNaN(v) }) {
		return 32, true
	}
	return 64, true
}

func fits(rec *audio.Record, ok func(float64) bool) bool {
	for _, ch := range rec.Channels {
		for _, v := range ch {
			if !ok(v) {
				return false
			}
		}
	}
	return true
}

// whole reports whether v is one of the steps of an integer of so many bits.
func whole(v float64, bits int) bool {
	step := math.Ldexp(v, bits-1)
	limit := math.Ldexp(1, bits-1)
	return step == math.Trunc(step) && step >= -limit && step < limit
}

// Read reads a run that Write kept. It believes the JSON only where the WAV does
// not contradict it.
func Read(base string) (*Run, error) {
	text, err := os.ReadFile(base + ".json")
	if err != nil {
		return nil, fmt.Errorf("kept: %w", err)
	}
	var doc runDoc
	if err := json.Unmarshal(text, &doc); err != nil {
		return nil, fmt.Errorf("kept: %s.json: %w", base, err)
	}
	if doc.Schema != schema {
		return nil, fmt.Errorf("kept: %s.json: schema %q, want %q", base, doc.Schema, schema)
	}
	r := &Run{Config: doc.Settings, StimulusFrames: doc.StimulusFrames, Device: doc.Device}
	if doc.Error != "" {
		r.Err = errors.New(doc.Error)
	}
	if doc.Record == nil {
		if r.Err == nil {
			return nil, fmt.Errorf("kept: %s.json: neither a record nor an error", base)
		}
		return r, nil
	}
	r.Record, err = doc.Record.read(base + ".wav")
	return r, err
}

// read reads the samples and puts to them what the WAV does not hold.
func (d *recordDoc) read(name string) (*audio.Record, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("kept: %w", err)
	}
	defer f.Close()
	rd, err := wave.NewReader(f)
	if err != nil {
		return nil, fmt.Errorf("kept: %s: %w", name, err)
	}
	channels := make([]int, rd.Format().Channels)
	for i := range channels {
		channels[i] = i + 1
	}
	if _, err := f.Seek(0, 0); err != nil {
		return nil, fmt.Errorf("kept: %w", err)
	}
	rec, err := wave.ReadAll(f, channels)
	if err != nil {
		return nil, fmt.Errorf("kept: %s: %w", name, err)
	}
	if rec.Frames() != d.Frames || rec.RateHz != d.RateHz {
		return nil, fmt.Errorf("kept: %s: %d frames at %g Hz; its JSON says %d at %g Hz: they do not belong together",
			name, rec.Frames(), rec.RateHz, d.Frames, d.RateHz)
	}
	rec.Source, rec.Bits, rec.Events = d.Source, d.Bits, nil
	for _, e := range d.Events {
		rec.Events = append(rec.Events, audio.Event(e))
	}
	return rec, nil
}
