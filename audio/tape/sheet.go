package tape

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/wave"
)

// schema is the version of the sheets.
const schema = "wheatear.run/1"

// Sheet is what is kept of a run beside its samples.
type Sheet struct {
	Schema         string        `json:"schema"`
	Label          string        `json:"label,omitempty"`
	Config         audio.Config  `json:"config"` // as filled in
	StimulusFrames int           `json:"stimulus_frames"`
	Device         *audio.Device `json:"device,omitempty"`
	Wave           string        `json:"wave,omitempty"` // file of the samples, in the same folder; none for a failed run
	RateHz         float64       `json:"rate_hz"`        // of the record, exactly
	Bits           int           `json:"bits"`
	Frames         int           `json:"frames"`
	Source         string        `json:"source"`
	Events         []Event       `json:"events"`
	CutShort       bool          `json:"cut_short"`
	Error          string        `json:"error,omitempty"` // of a run that failed or was cut short
	Cause          string        `json:"cause,omitempty"` // its kind, where it is one that is known
}

// Event is an [audio.Event].
type Event struct {
	Kind   audio.EventKind `json:"kind"`
	Frame  int64           `json:"frame"`
	Detail string          `json:"detail"`
}

// causes are errors that come back as themselves.
var causes = map[string]error{
	"cancelled": context.Canceled, "deadline": context.DeadlineExceeded, "stopped": audio.ErrStopped,
	"no device": audio.ErrNoDevice, "busy": audio.ErrBusy, "denied": audio.ErrDenied, "rate": audio.ErrRate,
	"channels": audio.ErrChannels, "lost": audio.ErrLost, "timeout": audio.ErrTimeout, "config": audio.ErrConfig,
}

// newSheet describes a run.
func newSheet(cfg audio.Config, stimulusFrames int, rec *audio.Record, err error) *Sheet {
	s := &Sheet{Schema: schema, Config: cfg, StimulusFrames: stimulusFrames, Events: []Event{}}
	if rec != nil {
		s.RateHz, s.Bits, s.Frames, s.Source = rec.RateHz, rec.Bits, rec.Frames(), rec.Source
		for _, e := range rec.Events {
			s.Events = append(s.Events, Event(e))
		}
	}
	if err != nil {
		s.CutShort, s.Error = errors.Is(err, audio.ErrCutShort), err.Error()
		for name, cause := range causes {
			if errors.Is(err, cause) {
				s.Cause = name
			}
		}
	}
	return s
}

// keptError is the error of a kept run.
type keptError struct {
	text  string
	under []error
}

func (e *keptError) Error() string   { return e.text }
func (e *keptError) Unwrap() []error { return e.under }

// err is how the run ended.
func (s *Sheet) err() error {
	if s.Error == "" {
		return nil
	}
	e := &keptError{text: s.Error}
	if s.CutShort {
		e.under = append(e.under, audio.ErrCutShort)
	}
	if cause, ok := causes[s.Cause]; ok {
		e.under = append(e.under, cause)
	}
	return e
}

// writeWave writes the record in the smallest form that loses nothing.
func writeWave(path string, rec *audio.Record) (err error) {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	bits, float := form(rec)
	whole := *rec
	whole.RateHz = math.Round(rec.RateHz) // the sheet has it exactly
	clipped, err := wave.WriteAll(f, &whole, bits, float)
	if err == nil && clipped > 0 {
		err = fmt.Errorf("tape: %d samples of %s did not fit", clipped, path)
	}
	return err
}

// form finds integers of the record's own resolution, 32 bit floating point, or 64,
// whichever holds every sample.
func form(rec *audio.Record) (bits int, float bool) {
	if rec.Bits > 1 && rec.Bits <= 32 && all(rec, integer(rec.Bits)) {
		return rec.Bits, false
	}
	if all(rec, func(v float64) bool { return float64(float32(v)) == v || math.IsNaN(v) }) {
		return 32, true
	}
	return 64, true
}

// integer says whether a sample is one of so many bits.
func integer(bits int) func(float64) bool {
	scale := math.Ldexp(1, bits-1)
	return func(v float64) bool { n := v * scale; return n == math.Trunc(n) && n >= -scale && n < scale }
}

// all says whether every sample is as it should be.
func all(rec *audio.Record, is func(float64) bool) bool {
	for _, ch := range rec.Channels {
		for _, v := range ch {
			if !is(v) {
				return false
			}
		}
	}
	return true
}

// Load reads a kept run by the name of its sheet. The record is nil for a run that
// failed; the error that a run ended with is in the sheet, not in err.
func Load(path string) (*audio.Record, *Sheet, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, fmt.Errorf("tape: %w", err)
	}
	s := &Sheet{}
	if err := json.Unmarshal(data, s); err != nil {
		return nil, nil, fmt.Errorf("tape: %s: %w", path, err)
	}
	if s.Schema != schema {
		return nil, nil, fmt.Errorf("tape: %s: schema %q; this program reads %q", path, s.Schema, schema)
	}
	if s.Wave == "" {
		return nil, s, nil
	}
	rec, err := s.load(filepath.Dir(path))
	if err != nil {
		return nil, nil, fmt.Errorf("tape: %s: %w", path, err)
	}
	return rec, s, nil
}

// load reads the samples and puts the record together again.
func (s *Sheet) load(dir string) (*audio.Record, error) {
	if filepath.Base(s.Wave) != s.Wave {
		return nil, fmt.Errorf("the samples are said to be in %q, outside this folder", s.Wave)
	}
	f, err := os.Open(filepath.Join(dir, s.Wave))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	channels := make([]int, len(s.Config.Inputs))
	for i := range channels {
		channels[i] = i + 1
	}
	rec, err := wave.ReadAll(f, channels)
	if err != nil {
		return nil, err
	}
	if rec.Frames() != s.Frames || math.Abs(rec.RateHz-s.RateHz) > 0.5 {
		return nil, fmt.Errorf("%s has %d frames at %g Hz, the sheet says %d at %g Hz", s.Wave, rec.Frames(), rec.RateHz, s.Frames, s.RateHz)
	}
	rec.RateHz, rec.Bits, rec.Source, rec.Events = s.RateHz, s.Bits, s.Source, nil
	for _, e := range s.Events {
		rec.Events = append(rec.Events, audio.Event(e))
	}
	return rec, nil
}
