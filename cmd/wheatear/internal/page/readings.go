package page

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/html"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// ReadingRequest asks for a reading that is kept.
type ReadingRequest struct {
	Part    string `json:"part"`
	At      string `json:"at"`     // one or more frequencies
	To      string `json:"to"`     // wanted uncertainty, such as 0.1%; empty for one record
	Seconds string `json:"within"` // at the most, such as 10; empty for what is usual
	Level   string `json:"level"`
	Note    string `json:"note"`
	ReadAs
}

// Kept is a reading that was kept.
type Kept struct {
	ID         int             `json:"id"`
	Time       time.Time       `json:"time"`
	Part       string          `json:"part"`
	Note       string          `json:"note"`
	FreqHz     float64         `json:"frequency_hz"`
	Calibrated *time.Time      `json:"calibrated"` // when the calibration was made; null without one
	Sheet      *Sheet          `json:"sheet"`
	Measure    json.RawMessage `json:"measure"` // wheatear.measure/1
	Files      []string        `json:"files"`
	Gone       []string        `json:"gone,omitempty"` // of files, those that were removed since
}

// wants is a request understood.
type wants struct {
	req   ReadingRequest
	tones []stimulus.ToneRequest
	level *fixture.Level
	goal  live.Goal
	question
}

func (r ReadingRequest) read() (*wants, error) {
	w := &wants{req: r}
	var err error
	if r.At != auto {
		if w.tones, err = someTones(r.At); err != nil {
			return nil, err
		}
	}
	if w.level, err = parseLevel(r.Level); err != nil {
		return nil, err
	}
	if w.question, err = r.question(); err != nil {
		return nil, err
	}
	w.goal, err = parseGoal(r.To, r.Seconds)
	return w, err
}

// parseGoal reads a wanted uncertainty and the time for it.
func parseGoal(to, seconds string) (g live.Goal, err error) {
	if to != "" {
		if g.To, err = parts.ParseTolerance(to); err != nil || g.To == 0 {
			return g, invalid("uncertainty: %q: write it as 0.1%%", to)
		}
	}
	if seconds != "" {
		if g.Seconds, err = parts.ParsePositive(seconds, parts.Second); err != nil {
			return g, invalid("seconds: %w", err)
		}
	}
	return g, nil
}

// StartReading makes a reading and keeps it. done is given the readings, when the card is free again.
func (b *Bench) StartReading(req ReadingRequest, tab string, done func([]*Kept)) error {
	w, err := req.read()
	if err != nil {
		return err
	}
	var kept []*Kept
	var read *desk
	return b.beginThen(ReadingKind, req.Part, tab, func(a *activity, d *desk) (err error) {
		read = d
		kept, err = b.runReading(a, d, w)
		return err
	}, func() {
		for i, k := range kept {
			kept[i] = read.withoutGone(k)
		}
		done(kept)
	})
}

func (b *Bench) runReading(a *activity, d *desk, w *wants) ([]*Kept, error) {
	s, err := b.session(a, d, w.level, true)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	tones := w.tones
	if w.req.At == auto {
		if tones, w.chosen, err = b.toneOf(a, d, s, auto, w.req.Part); err != nil {
			return nil, err
		}
	}
	plan, err := s.Plan(a.ctx, b.calibrated(d, tones))
	if err != nil {
		return nil, err
	}
	name := b.partName(d, w.req.Part)
	series, err := s.Average(a.ctx, live.Subject{Role: fixture.PartRole, Name: name}, plan, d.cal, w.goal)
	if len(series.Takes) == 0 {
		return nil, err
	}
	b.counts.records.Add(int64(len(series.Takes)))
	if err == nil && series.Why != "" {
		b.tell(series.Why+".", false)
	}
	var out []*Kept
	for _, f := range live.Frequencies(plan) {
		k, failed := b.keepReading(d, s, series, f, name, w)
		if failed != nil {
			return out, failed
		}
		out = append(out, k)
		b.enter(d, name, w.req.Note, k.Files, func(to io.Writer) error {
			_, err := to.Write(append(k.Measure, '\n'))
			return err
		}, append(d.redoParts("measure", []float64{f}, k.Files), w.req.flags()...)...)
	}
	return out, err
}

// keepReading reads one tone of what was recorded and keeps it.
func (b *Bench) keepReading(d *desk, s *live.Session, series *live.Averaged, freqHz float64, part string, w *wants) (*Kept, error) {
	m, r, err := measured(d.jig, d.cal, plainNames(series.Observations()), freqHz, s.Reading(), w.question)
	if err != nil {
		return nil, err
	}
	r.Findings = append(r.Findings, series.Driver()...)
	m.AddFindings(series.Driver())
	doc := m.Document()
	k := &Kept{Time: b.opts.Now(), Part: part, Note: w.req.Note, FreqHz: freqHz, Sheet: sheetOf(doc)}
	if d.cal != nil {
		k.Calibrated = &d.cal.About.Date
	}
	for _, t := range series.Takes {
		k.Files = append(k.Files, filepath.Base(t.Observation.File))
	}
	var text bytes.Buffer
	if err := result.WriteLine(&text, doc); err != nil {
		return nil, err
	}
	k.Measure = bytes.TrimSpace(text.Bytes())
	b.mu.Lock()
	defer b.mu.Unlock()
	defer b.changed()
	if err := d.append(k); err != nil {
		return nil, err
	}
	return k, d.writeReport(k.ID, doc, k.Time)
}

// reportsName is the folder of reports that stand alone, one for each reading.
const reportsName = "reports"

func reportFile(id int) string { return fmt.Sprintf("reading-%d.html", id) }

// writeReport writes a reading with all that it rests on, which later nobody could.
func (d *desk) writeReport(id int, doc *result.Measurement, at time.Time) error {
	if err := os.MkdirAll(d.path(reportsName), 0o700); err != nil {
		return err
	}
	var text bytes.Buffer
	if err := html.Write(&text, tell.Measurement(doc), at); err != nil {
		return err
	}
	return writeWhole(filepath.Join(d.path(reportsName), reportFile(id)), text.Bytes())
}

// plainNames are observations that call their files by the name alone, as people do.
func plainNames(obs []fixture.Observation) []fixture.Observation {
	for i := range obs {
		obs[i].File = filepath.Base(obs[i].File)
	}
	return obs
}

// append writes a reading behind the others.
func (d *desk) append(k *Kept) error {
	k.ID = len(d.readings) + 1
	line, err := json.Marshal(k)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(d.path(readingsName), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(append(line, '\n'))
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		d.readings = append(d.readings, k)
	}
	return err
}

// readReadings reads what was kept. The line of a program that was killed while it
// wrote may be half; it is cut off, so that the next has a line of its own.
func (d *desk) readReadings() error {
	text, err := os.ReadFile(d.path(readingsName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	whole := bytes.LastIndexByte(text, '\n') + 1
	if whole < len(text) {
		if err := os.Truncate(d.path(readingsName), int64(whole)); err != nil {
			return err
		}
	}
	lines := bufio.NewScanner(bytes.NewReader(text[:whole]))
	lines.Buffer(nil, len(text)+1)
	for n := 1; lines.Scan(); n++ {
		k := &Kept{}
		if err := json.Unmarshal(lines.Bytes(), k); err != nil {
			return fmt.Errorf("page: %s: line %d: %w", d.path(readingsName), n, err)
		}
		d.readings = append(d.readings, k)
	}
	return lines.Err()
}

// Readings are the latest, the newest first.
func (b *Bench) Readings(most int) []*Kept {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := []*Kept{}
	if b.desk == nil {
		return out
	}
	for i := len(b.desk.readings) - 1; i >= 0 && len(out) < most; i-- {
		out = append(out, b.desk.withoutGone(b.desk.readings[i]))
	}
	return out
}

// Reading is one by its number.
func (b *Bench) Reading(id int) (*Kept, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.desk == nil || id < 1 || id > len(b.desk.readings) {
		return nil, notFound("there is no reading %d", id)
	}
	return b.desk.withoutGone(b.desk.readings[id-1]), nil
}
