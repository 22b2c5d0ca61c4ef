package page

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// CalibrationRequest is what a calibration may be told.
type CalibrationRequest struct {
	At    string   `json:"at"`
	Loads []string `json:"loads"` // such as 1k/0.1%; may be empty
	Level string   `json:"level"`
	Auto  bool     `json:"auto"` // the simulated jig puts everything in and records it
}

// guide is a calibration under way, as its file keeps it.
type guide struct {
	Schema  string             `json:"schema"`
	Request CalibrationRequest `json:"request"`
	Begun   time.Time          `json:"begun"`
	Steps   []*guideStep       `json:"steps"`
	Failed  []view.Told        `json:"failed"` // why the standards together gave no calibration
}

const guideSchema = "wheatear.calibration-under-way/1"

// guideStep is a standard.
type guideStep struct {
	Role    fixture.Role `json:"role"`
	Load    string       `json:"load"` // value and tolerance of a load
	State   stepState    `json:"state"`
	File    string       `json:"file"` // in the recordings, without its ending
	Refused []view.Told  `json:"refused"`

	// What is expected of |Z|, before any correction, for people; not kept.
	Expected string     `json:"expected,omitempty"`
	Within   [2]float64 `json:"within_ohm,omitzero"` // 0 for no end
}

// expect says what a standard should read with a jig.
func (s *guideStep) expect(jig *fixture.Jig) {
	const far, near = 10, 2 // times the reference, and ohm with the leads
	switch s.Role {
	case fixture.Open:
		least := far * jig.ReferenceOhm
		s.Expected = "more than " + rough(least, "Ω") + ": nothing but the cables"
		s.Within = [2]float64{least, 0}
	case fixture.Short:
		s.Expected = "less than about " + rough(near, "Ω") + ": nothing but the leads"
		s.Within = [2]float64{0, near}
	case fixture.LoadRole:
		if load, err := parseLoad(s.Load); err == nil {
			const part = 0.2 // what is never held against a load
			s.Expected = "about " + rough(load.Ohm, "Ω") + ", and no reactance to speak of"
			s.Within = [2]float64{(1 - part) * load.Ohm, (1 + part) * load.Ohm}
		}
	}
}

type stepState string

// States of a step.
const (
	wanted   stepState = "wanted"
	recorded stepState = "recorded"
	skipped  stepState = "skipped"
)

// subject is what is to be connected.
func (s *guideStep) subject() (live.Subject, error) {
	if s.Role != fixture.LoadRole {
		return live.Subject{Role: s.Role}, nil
	}
	load, err := parseLoad(s.Load)
	return live.Subject{Role: s.Role, Load: &load}, err
}

// parseLoad reads value and tolerance of a load.
func parseLoad(text string) (fixture.Load, error) {
	value, tolerance, both := strings.Cut(text, "/")
	if !both {
		return fixture.Load{}, invalid("load: %q: write it with its tolerance, as 1k/0.1%%", text)
	}
	ohm, err := parts.ParsePositive(value, parts.Ohm)
	if err != nil {
		return fixture.Load{}, invalid("load: %w", err)
	}
	rel, err := parts.ParseTolerance(tolerance)
	if err != nil {
		return fixture.Load{}, invalid("load: %w", err)
	}
	return fixture.Load{Ohm: ohm, Tolerance: rel}, nil
}

// newGuide checks what is asked for and lists the standards.
func newGuide(req CalibrationRequest, now time.Time) (*guide, error) {
	if _, err := someTones(req.At); err != nil {
		return nil, err
	}
	if _, err := parseLevel(req.Level); err != nil {
		return nil, err
	}
	req.Loads = append([]string{}, req.Loads...) // a list even where none was named
	g := &guide{Schema: guideSchema, Request: req, Begun: now, Failed: []view.Told{}}
	g.Steps = []*guideStep{{Role: fixture.Open, State: wanted}, {Role: fixture.Short, State: wanted}}
	for _, text := range req.Loads {
		load, err := parseLoad(text)
		if err != nil {
			return nil, err
		}
		g.Steps = append(g.Steps, &guideStep{Role: fixture.LoadRole, Load: load.String(), State: wanted})
	}
	return g, nil
}

// next is the step that waits, nil after the last.
func (g *guide) next() *guideStep {
	for _, s := range g.Steps {
		if s.State == wanted {
			return s
		}
	}
	return nil
}

// StartCalibration begins a new calibration. The old one holds until it is complete.
func (b *Bench) StartCalibration(req CalibrationRequest, tab string) error {
	g, err := newGuide(req, b.opts.Now())
	if err != nil {
		return err
	}
	return b.begin(CalibrationKind, "", tab, func(a *activity, d *desk) error {
		b.mu.Lock()
		d.steps = g
		err := b.keepGuide(d)
		b.mu.Unlock()
		if err != nil {
			return err
		}
		return b.runGuide(a, d)
	})
}

// ResumeCalibration goes on with one that was interrupted.
func (b *Bench) ResumeCalibration(tab string) error {
	b.mu.Lock()
	none := b.desk == nil || b.desk.steps == nil
	b.mu.Unlock()
	if none {
		return conflict("there is no calibration to go on with")
	}
	return b.begin(CalibrationKind, "", tab, b.runGuide)
}

// DropCalibration throws away a calibration under way; the one in use stays.
func (b *Bench) DropCalibration() error {
	b.mu.Lock()
	under := b.active != nil && b.active.Kind == CalibrationKind
	b.mu.Unlock()
	if under {
		b.Stop()
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.desk == nil {
		return ErrNoJig
	}
	b.desk.steps = nil
	defer b.changed()
	return b.keepGuide(b.desk)
}

// keepGuide writes the file of the calibration under way, or removes it.
func (b *Bench) keepGuide(d *desk) error {
	if d.steps != nil {
		return writeJSON(d.path(guideName), d.steps)
	}
	if err := os.Remove(d.path(guideName)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

func (d *desk) readGuide() error {
	var g guide
	if err := readJSON(d.path(guideName), &g); err != nil || g.Schema == "" {
		return err
	}
	if g.Schema == guideSchema {
		d.steps = &g
	}
	return nil
}

// step changes a step, keeps it and tells the pages.
func (b *Bench) step(d *desk, change func()) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	change()
	defer b.changed()
	return b.keepGuide(d)
}

// base is the file of a record without its ending.
func base(file string) string { return strings.TrimSuffix(filepath.Base(file), ".wav") }

// interrupted reports whether an activity ended because it was asked to.
func interrupted(err error) bool {
	return errors.Is(err, ErrStopped) || errors.Is(err, context.Canceled)
}
