package page

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin/fixture"
)

// standardsName lists the recordings that the calibration in use was made of.
const standardsName = "calibration-of.json"

// prune removes the oldest recordings of a jig until the others fit, with the reports of
// readings that have none left, and says what it did. Whoever calls it has the card.
func (b *Bench) prune(d *desk) string {
	if b.opts.Keep <= 0 {
		return ""
	}
	b.mu.Lock()
	wanted, err := d.wanted()
	b.mu.Unlock()
	if err != nil {
		return "No old recordings are removed: " + report.Plain(err) + "."
	}
	gone, err := live.Prune(d.path(recordingsName), b.opts.Keep, wanted)
	if err != nil {
		return "Old recordings could not be removed: " + report.Plain(err) + "."
	}
	if len(gone.Files) == 0 {
		return ""
	}
	if err := b.pruneReports(d); err != nil {
		return "Old reports could not be removed: " + report.Plain(err) + "."
	}
	return fmt.Sprintf("%s, %s, so that no more than %s are kept. What was read of them stays.", gone, bytesText(gone.Bytes), bytesText(b.opts.Keep))
}

// wanted reports of which recordings none may go: those of the standards, and those of
// the sweep that is shown. The lock is held.
func (d *desk) wanted() (func(file string, role fixture.Role) bool, error) {
	files := map[string]bool{}
	var standards []string
	if err := readJSON(d.path(standardsName), &standards); err != nil {
		return nil, err
	}
	for _, f := range standards {
		files[f] = true
	}
	if d.steps != nil {
		for _, s := range d.steps.Steps {
			files[s.File+".wav"] = true
		}
	}
	if d.sweep != nil {
		for _, p := range d.sweep.state.Points {
			for _, f := range p.Files {
				files[filepath.Base(f)] = true
			}
		}
	}
	// A calibration of another version of the program does not tell what it was made of.
	every := d.cal != nil && len(standards) == 0
	return func(file string, role fixture.Role) bool {
		return files[file] || every && role != fixture.PartRole
	}, nil
}

// pruneReports removes the reports of readings that have no recording left.
func (b *Bench) pruneReports(d *desk) error {
	b.mu.Lock()
	readings := d.readings // only ever appended to
	b.mu.Unlock()
	for _, k := range readings {
		if len(k.Files) == 0 || slices.ContainsFunc(k.Files, d.hasRecording) {
			continue
		}
		err := os.Remove(filepath.Join(d.path(reportsName), reportFile(k.ID)))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// hasRecording reports whether a recording is still there.
func (d *desk) hasRecording(name string) bool { return hasFile(d.path(recordingsName), name) }

// withoutGone is a reading that tells which of its recordings are still there.
func (d *desk) withoutGone(k *Kept) *Kept {
	if !slices.ContainsFunc(k.Files, func(name string) bool { return !d.hasRecording(name) }) {
		return k
	}
	out := *k
	out.Files, out.Gone = []string{}, []string{}
	for _, f := range k.Files {
		if d.hasRecording(f) {
			out.Files = append(out.Files, f)
		} else {
			out.Gone = append(out.Gone, f)
		}
	}
	return &out
}

// add tells something beside what is told already. The lock is not held.
func (b *Bench) add(text string) {
	if text == "" {
		return
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	n := &Notice{Time: b.opts.Now(), Text: text}
	if b.notice != nil {
		n.Text, n.Bad = b.notice.Text+" "+text, b.notice.Bad
	}
	b.notice = n
	b.changed()
}

// bytesText writes an amount of bytes with two or three digits.
func bytesText(n int64) string {
	v, unit := float64(n), "bytes"
	for _, u := range []string{"kB", "MB", "GB", "TB"} {
		if v < 1000 {
			break
		}
		v, unit = v/1000, u
	}
	return fmt.Sprintf("%.3g %s", v, unit)
}
