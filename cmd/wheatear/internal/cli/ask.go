package cli

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
)

// ask asks a question on the talk stream and returns the line that a person
// answers, without spaces around it. Where standard input has ended the error wraps
// live.ErrUnanswered. When the context ends it returns at once; the goroutine that
// waits for the line ends with the input.
func (a *app) ask(question string) (string, error) {
	a.progress.clear()
	var b bytes.Buffer
	text.Wrap(&b, "", question)
	fmt.Fprint(a.talk, strings.TrimRight(b.String(), "\n")+" ")
	if a.lines == nil {
		a.lines = bufio.NewReader(a.in)
	}
	endLine := func() { fmt.Fprintln(a.talk) } // where nobody's Enter does it
	if !isTerminal(a.in) {
		defer endLine()
	}
	type answer struct {
		text string
		err  error
	}
	heard := make(chan answer, 1)
	go func() {
		text, err := a.lines.ReadString('\n')
		heard <- answer{text, err}
	}()
	select {
	case <-a.ctx.Done():
		if isTerminal(a.in) {
			endLine()
		}
		return "", context.Cause(a.ctx)
	case h := <-heard:
		if h.err != nil && h.text == "" {
			return "", unanswered(question, h.err)
		}
		return strings.TrimSpace(h.text), nil
	}
}

func unanswered(question string, err error) error {
	if !errors.Is(err, io.EOF) {
		return fmt.Errorf("reading an answer: %w", err)
	}
	return &askError{question}
}

// askError is about a question that nobody is there to answer.
type askError struct{ question string }

func (e *askError) Error() string {
	return fmt.Sprintf("nobody answers, standard input has ended; the question was: %q", e.question)
}
func (e *askError) Unwrap() error { return live.ErrUnanswered }

// choose asks until the answer is understood. accept says what is wrong with one.
func (a *app) choose(question string, accept func(text string) error) error {
	for {
		text, err := a.ask(question)
		if err != nil {
			return err
		}
		bad := accept(text)
		if bad == nil {
			return nil
		}
		a.say("That is not understood: %s.", plain(bad))
	}
}

// isTerminal reports whether a stream is one on which a person sits.
func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return (err != nil || !os.SameFile(info, null)) && os.Getenv("TERM") != "dumb"
}

// progress is a line that is written over and over while something takes time. On
// anything but a terminal it is silent.
type progress struct {
	out    io.Writer
	on     bool
	before string // begins every text: which part of something longer it is about
	text   string
}

func (p *progress) show(text string) {
	text = p.before + text
	if p.on && text != p.text {
		fmt.Fprintf(p.out, "\r%s\x1b[K", text)
		p.text = text
	}
}

// clear takes the line away, so that something else can be written.
func (p *progress) clear() {
	if p.text != "" {
		fmt.Fprint(p.out, "\r\x1b[K")
		p.text = ""
	}
}
