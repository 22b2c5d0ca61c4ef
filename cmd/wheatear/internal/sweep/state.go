// Package sweep holds what a sweep needs beside measuring: where its points lie,
// and the file that keeps the finished ones, so that a sweep that was interrupted
// can be gone on with.
package sweep

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/extreme"
	"example.org/wheatear/lockin/fixture"
)

// State is a sweep under way: what was asked for, and the points that are
// finished, in the order of Frequencies.
type State struct {
	Jig            File
	Calibration    File // without a name there is none
	Part           string
	Level          *fixture.Level // nil for that of the jig file
	To             float64        // wanted half width of the 95 % interval of |Z|, relative; 0 for none
	WithinS        float64        // of recording for each point at the most; 0 for what is usual
	FrequenciesHz  []float64
	SignalS        float64 // recorded so far
	Points         []*Point
	UnreachedCount int // points of which To was not reached
}

// Point is a finished one.
type Point struct {
	*fixture.Corrected
	Files []string // what it was read from
}

// File is a file that a sweep depends on, with the sum of what is in it.
type File struct {
	Name string `json:"file"`
	Sum  string `json:"sha256"`
}

// NewFile names a file of that content.
func NewFile(name string, content []byte) File {
	sum := sha256.Sum256(content)
	return File{name, hex.EncodeToString(sum[:])}
}

// Check says so if the content is another one now.
func (f File) Check(content []byte) error {
	if NewFile(f.Name, content) != f {
		return fmt.Errorf("%s has changed since the sweep was begun; begin a new one, as points of both would not belong together", f.Name)
	}
	return nil
}

// Next returns the frequency of the next point; ok is false where all are done.
func (s *State) Next() (freqHz float64, ok bool) {
	if len(s.Points) >= len(s.FrequenciesHz) {
		return 0, false
	}
	return s.FrequenciesHz[len(s.Points)], true
}

// schema names the form of the file.
const schema = "wheatear.sweep-state/1"

// document is the file.
type document struct {
	Schema        string    `json:"schema"`
	Jig           File      `json:"jig"`
	Calibration   *File     `json:"calibration"`
	Part          string    `json:"part"`
	Level         *level    `json:"level"`
	To            float64   `json:"to"`
	WithinS       float64   `json:"within_s"`
	FrequenciesHz []float64 `json:"frequencies_hz"`
	SignalS       float64   `json:"signal_s"`
	Unreached     int       `json:"unreached"`
	Points        []point   `json:"points"`
}

type level struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"` // V or dBFS
}

// Encode writes the state as its file holds it.
func (s *State) Encode() ([]byte, error) {
	d := document{
		Schema: schema, Jig: s.Jig, Part: s.Part, To: s.To, WithinS: s.WithinS,
		FrequenciesHz: s.FrequenciesHz, SignalS: s.SignalS, Unreached: s.UnreachedCount, Points: []point{},
	}
	if s.Calibration.Name != "" {
		d.Calibration = &s.Calibration
	}
	if s.Level != nil {
		d.Level = &level{s.Level.Value, "dBFS"}
		if s.Level.Volts {
			d.Level.Unit = "V"
		}
	}
	for _, p := range s.Points {
		d.Points = append(d.Points, p.document())
	}
	text, err := json.MarshalIndent(d, "", " ")
	return append(text, '\n'), err
}

// Decode reads a state. name is what errors call it.
func Decode(name string, text []byte) (*State, error) {
	var d document
	if err := json.Unmarshal(text, &d); err != nil {
		return nil, fmt.Errorf("%s: this is no sweep to go on with: %w", name, err)
	}
	if d.Schema != schema {
		return nil, fmt.Errorf("%s: schema %q, want %q: this is no sweep to go on with", name, d.Schema, schema)
	}
	if err := extreme.Check(text); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	s := &State{
		Jig: d.Jig, Part: d.Part, To: d.To, WithinS: d.WithinS,
		FrequenciesHz: d.FrequenciesHz, SignalS: d.SignalS, UnreachedCount: d.Unreached,
	}
	if d.Calibration != nil {
		s.Calibration = *d.Calibration
	}
	if d.Level != nil {
		s.Level = &fixture.Level{Value: d.Level.Value, Volts: d.Level.Unit == "V"}
	}
	for _, p := range d.Points {
		s.Points = append(s.Points, p.point())
	}
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return s, nil
}

// check judges what a file holds.
func (s *State) check() error {
	bad := func(v float64) bool { return !(v >= 0) || math.IsInf(v, 0) }
	if s.Jig.Name == "" || bad(s.To) || bad(s.WithinS) || bad(s.SignalS) || s.UnreachedCount < 0 {
		return errors.New("the sweep does not say which jig, or holds a value that cannot be")
	}
	if len(s.FrequenciesHz) == 0 || slices.ContainsFunc(s.FrequenciesHz, func(f float64) bool { return bad(f) || f == 0 }) {
		return errors.New("the sweep has no frequencies, or one that cannot be")
	}
	if len(s.Points) > len(s.FrequenciesHz) {
		return fmt.Errorf("%d points of %d frequencies", len(s.Points), len(s.FrequenciesHz))
	}
	for i, p := range s.Points {
		if p.NominalHz != s.FrequenciesHz[i] {
			return fmt.Errorf("point %d lies at %g Hz, not at %g Hz", i+1, p.NominalHz, s.FrequenciesHz[i])
		}
	}
	return nil
}
