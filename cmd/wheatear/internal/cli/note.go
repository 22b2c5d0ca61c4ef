package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"time"

	"github.com/spf13/pflag"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/fixture"
)

// entered is what a command hands to the notebook beside the result itself.
type entered struct {
	label       string // which part
	note        string
	jig         string               // file
	calibration string               // file
	cal         *fixture.Calibration // nil for none
	files       []string             // recordings
	keep        bool                 // the recordings, too
	redo        []string             // arguments that make the result again, where those of the command cannot
}

// notebookPatience is how long the notebook may keep a command from ending. Adding takes
// a few milliseconds, and another process that writes is waited for two seconds.
const notebookPatience = 5 * time.Second

// copyPatience is how long copying recordings may take beside that.
const copyPatience = time.Minute

// enter writes a result into the notebook; write is what prints its JSON. Every
// command that makes a result calls it once it has shown it. Whatever is wrong with
// the notebook is told, and changes nothing else.
func (a *app) enter(r entered, write func(w io.Writer) error) {
	if a.noNotebook {
		return
	}
	file, err := notebook.Place()
	if err == nil && file == "" {
		return
	}
	a.progress.clear()
	a.out.Flush() // what is wrong with the output is told at the end of the run
	if err == nil {
		err = a.enterInto(file, r, write)
	}
	if err != nil {
		a.say("wheatear: not in the notebook: %s", plain(err))
		a.noNotebook = true // it would be the same with what follows
	}
}

// enterResult enters a document.
func (a *app) enterResult(r entered, doc any) {
	a.enter(r, func(w io.Writer) error { return result.Write(w, doc) })
}

// enterInto waits no longer than the patience of the run, not even for a disk that does
// not answer.
func (a *app) enterInto(file string, r entered, write func(w io.Writer) error) error {
	e, err := a.entry(r, write)
	if err != nil {
		return err
	}
	patience := a.patience
	var copies []string
	if r.keep {
		patience += copyPatience
		copies = r.files
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(a.ctx), patience)
	defer cancel()
	done := make(chan error, 1)
	go func() { done <- a.addTo(ctx, file, e, copies) }()
	select {
	case err = <-done:
	case <-time.After(patience + patience/10):
		err = context.DeadlineExceeded
	}
	if errors.Is(err, context.DeadlineExceeded) {
		err = &notebook.Error{File: file, Err: errors.New("its disk did not answer in time: name a file on another with " + notebook.Env)}
	}
	return err
}

// addTo adds an entry to the notebook of that name, with copies of recordings.
func addTo(ctx context.Context, file string, e *notebook.Entry, copies []string) error {
	n, err := notebook.Open(ctx, file)
	if err != nil {
		return err
	}
	for _, name := range copies {
		if !ordinary(name) {
			continue // live, without a folder for it
		}
		r, err := n.KeepRecord(ctx, name)
		if err != nil {
			return errors.Join(err, n.Close())
		}
		e.Records = append(e.Records, r)
	}
	_, err = n.Add(ctx, e)
	return errors.Join(err, n.Close())
}

// ordinary reports whether a name is that of a file which can be read once more.
func ordinary(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode().IsRegular()
}

// entry is what is kept of a result.
func (a *app) entry(r entered, write func(w io.Writer) error) (*notebook.Entry, error) {
	var text bytes.Buffer
	if err := write(&text); err != nil {
		return nil, err
	}
	args := a.args
	if len(r.redo) > 0 {
		args = r.redo
	}
	e := &notebook.Entry{
		Time: a.now(), Label: r.label, Note: r.note, Command: commandLine(append([]string{"wheatear"}, args...)),
		Files: r.files, Result: text.Bytes(),
	}
	for _, d := range []struct{ role, file string }{{notebook.JigFile, r.jig}, {notebook.VerifiedFile, verifiedFile(r.jig)}} {
		if r.jig == "" || !ordinary(d.file) {
			continue
		}
		text, err := os.ReadFile(d.file)
		if err != nil {
			return nil, err
		}
		e.Documents = append(e.Documents, notebook.NewDocument(d.role, d.file, string(text)))
	}
	if r.cal != nil {
		text, err := r.cal.Encode()
		if err != nil {
			return nil, err
		}
		e.Documents = append(e.Documents, notebook.NewDocument(notebook.CalibrationFile, r.calibration, string(text)))
	}
	return e, nil
}

// describe adds the flags with which a person says what a result is of.
func (r *entered) describe(flags *pflag.FlagSet) {
	flags.StringVar(&r.label, "label", "", "`NAME` of the part in the notebook, by which its history is found (default that of --part)")
	flags.StringVar(&r.note, "note", "", "`TEXT` for the notebook")
	flags.BoolVar(&r.keep, "keep-recordings", false, "keep recordings beside the notebook, by their SHA-256 (live: those of --keep)")
}

// on completes what is said of a result with what it rests on.
func (r entered) on(jig, part string, m *report.Measurement) entered {
	if r.label == "" {
		r.label = part
	}
	r.jig, r.calibration, r.cal, r.files = jig, m.Calibration, m.Cal, m.Files
	return r
}

func (a *app) enterMeasurement(f measureFlags, m *report.Measurement) {
	a.enterResult(f.entry.on(f.jig, f.part, m), m.Document())
}

func (a *app) enterSweep(f sweepFlags, s *report.Sweep) {
	a.enterResult(f.entry.on(f.jig, s.Part, &s.Measurement), s.Document())
}
