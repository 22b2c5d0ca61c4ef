package kept

import (
	"encoding/json"
	"errors"
	"fmt"
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

// Write keeps a run as base.wav and base.json, over older files of that name. A
// run that failed has no WAV.
func Write(base string, r Run) error {
	doc := runDoc{Schema: schema, Settings: r.Config, StimulusFrames: r.StimulusFrames, Device: r.Device}
	if r.Err != nil {
		doc.Error = r.Err.Error()
	}
	if r.Record != nil {
		doc.Record = &recordDoc{r.Record.Source, r.Record.RateHz, r.Record.Frames(), r.Record.Bits, []eventDoc{}}
		for _, e := range r.Record.Events {
			doc.Record.Events = append(doc.Record.Events, eventDoc(e))
		}
		if err := writeSamples(base+".wav", r.Record); err != nil {
			return fmt.Errorf("kept: %w", err)
		}
	}
	text, err := json.MarshalIndent(doc, "", " ")
	if err != nil {
		return fmt.Errorf("kept: %s.json: %w", base, err)
	}
	if err := os.WriteFile(base+".json", append(text, '\n'), 0o666); err != nil {
		return fmt.Errorf("kept: %w", err)
	}
	return nil
}

func writeSamples(name string, rec *audio.Record) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	bits, float := width(rec)
	_, err = wave.WriteAll(f, rec, bits, float)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
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
