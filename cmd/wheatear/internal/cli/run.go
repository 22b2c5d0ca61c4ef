// Package cli is the command line of wheatear: one file per command, each of
// them flags, configuration, library call, report. It computes nothing itself.
package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// Run executes one command line, without the program's name, and returns the
// exit status (see Status). Results go to stdout, errors and talk to stderr.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := newApp(ctx, stdin, stdout, stderr)
	return a.run(args)
}

// newApp is a run that has not begun.
func newApp(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) *app {
	return &app{
		ctx: ctx, in: stdin, stdout: stdout, out: bufio.NewWriter(stdout), talk: stderr, now: time.Now, wait: sleep,
		progress: progress{out: stderr, on: isTerminal(stderr)}, openCard: live.Open, listCards: portaudio.List,
		addTo: addTo, patience: notebookPatience,
	}
}

func (a *app) run(args []string) int {
	a.args = args
	root := newRoot(a)
	root.SetArgs(append([]string{}, args...)) // nil would mean those of the process
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.talk)
	cmd, err := root.ExecuteContextC(a.ctx)
	if flushed := a.out.Flush(); err == nil && flushed != nil {
		err = fmt.Errorf("writing to standard output: %w", flushed)
	}
	if err != nil {
		a.complain(err)
	}
	a.suggestComma(cmd)
	return int(a.status)
}

// suggestComma asks whether a comma in --at was meant as the decimal mark, where what
// was asked for did not come out well.
func (a *app) suggestComma(cmd *cobra.Command) {
	at := cmd.Flags().Lookup("at")
	if at == nil || a.status == Done || a.status == OtherVerdict {
		return
	}
	if meant, ok := parts.CommaMeant(at.Value.String()); ok {
		a.say("--at %s is a list of two frequencies; did you mean %s?", at.Value, meant)
	}
}

// app is what one run of the command shares: streams, and how it went.
type app struct {
	ctx    context.Context
	in     io.Reader
	as     impedance.Element // what parts are to be read as; the zero Element for what they mostly are
	stdout io.Writer         // what out writes to
	out    *bufio.Writer     // results only
	talk   io.Writer         // everything else
	status Status
	args   []string
	now    func() time.Time
	wait   func(ctx context.Context, d time.Duration) error

	noNotebook bool          // nothing is to be kept
	stdinTaken bool          // standard input has been read
	lines      *bufio.Reader // answers on standard input; nil before the first
	progress   progress
	choice     choice // of devices, as setup has shown them
	card       string // in use by name; empty where recordings are read

	parallel, inSeries *fixture.Around // known to be connected beside the part; nil for nothing
	assumedTold        bool

	openCard  func(context.Context, live.Options) (*live.Session, error) // a card
	listCards func(context.Context, portaudio.Options) ([]portaudio.Device, error)
	addTo     func(ctx context.Context, file string, e *notebook.Entry, copies []string) error // writes into a notebook
	patience  time.Duration                                                                    // with the notebook
}

// say writes a sentence of talk.
func (a *app) say(format string, args ...any) {
	a.progress.clear()
	text.Wrap(a.talk, "", fmt.Sprintf(format, args...))
}

// complain tells of an error and lets it have its say in the exit status.
func (a *app) complain(err error) {
	status := statusOf(err)
	a.status.join(status)
	if errors.Is(err, context.Canceled) {
		err = errors.New("interrupted")
	}
	a.say("wheatear: %s", plain(err))
	if status == Usage {
		a.say("wheatear help shows how the commands are used.")
	}
}

// plain drops the names of packages before what errors say.
func plain(err error) string { return report.Plain(err) }
