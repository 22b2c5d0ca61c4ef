package page

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/fixture"
)

// What the page has measured can be measured once more by a command: over the recordings
// that were kept, the jig file beside them, and the calibration that was in use.

// calibrationsName is the folder of all calibrations that results rest on, each by the
// beginning of its SHA-256: the one in use has another name, and others follow it.
const calibrationsName = "calibrations"

// redo is a command with the jig and the calibration that results now rest on.
func (d *desk) redo(command string) []string {
	args := []string{command, "--jig", d.path(recordingsName + "/jig.toml")}
	if file := d.calibrationFile(); file != "" {
		args = append(args, "--calibration", file)
	}
	return args
}

// calibrationFile is the calibration in use, in a file that keeps its content; empty
// without one. Where it cannot be written it is the file of the one in use.
func (d *desk) calibrationFile() string {
	if d.cal == nil {
		return ""
	}
	text, err := os.ReadFile(d.path(calibrationName))
	if err != nil {
		return d.path(calibrationName)
	}
	sum := sha256.Sum256(text)
	name := filepath.Join(d.path(calibrationsName), hex.EncodeToString(sum[:6])+".json")
	_, err = os.Stat(name)
	if errors.Is(err, fs.ErrNotExist) {
		if err = os.MkdirAll(d.path(calibrationsName), 0o700); err == nil {
			err = writeWhole(name, text)
		}
	}
	if err != nil {
		return d.path(calibrationName)
	}
	return name
}

// redoParts is a command that reads parts again from recordings.
func (d *desk) redoParts(command string, freqsHz []float64, files []string) []string {
	args := append(d.redo(command), "--at", atList(freqsHz))
	for _, f := range files {
		args = append(args, "--recording", d.path(recordingsName+"/"+f))
	}
	return args
}

// redoLot is the command that shows a lot again, from the file that holds its parts.
func (d *desk) redoLot(l *lot) []string {
	args := append(d.redo("sort"), "--at", l.At, "--expect", l.Expect)
	if l.Bins != "" {
		args = append(args, "--bins", l.Bins)
	}
	if l.As != "" {
		args = append(args, "--as", l.As)
	}
	return append(args, "--csv", l.name, "--count", strconv.Itoa(len(l.file.Parts())))
}

// redoCalibration is the command that makes a calibration of the standards again.
func (d *desk) redoCalibration(freqsHz []float64, heard []fixture.Observation) []string {
	args := []string{"calibrate", "--jig", d.path(recordingsName + "/jig.toml"), "--at", atList(freqsHz)}
	for _, o := range heard {
		file := d.path(recordingsName + "/" + filepath.Base(o.File))
		switch {
		case o.Role == fixture.LoadRole && o.Load != nil:
			args = append(args, "--load", o.Load.String()+"="+file)
		default:
			args = append(args, "--"+string(o.Role), file)
		}
	}
	return append(args, "--out", "calibration-again.json")
}

// atList writes frequencies in full, as commands take them.
func atList(freqsHz []float64) string {
	var list []string
	for _, f := range freqsHz {
		list = append(list, strconv.FormatFloat(f, 'f', -1, 64))
	}
	return strings.Join(list, ",")
}
