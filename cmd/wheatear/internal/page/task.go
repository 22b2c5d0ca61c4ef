package page

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// Command runs a command of the program, as its command line would, and returns the
// exit status.
type Command func(context.Context, Errand) int

// Errand is what a command is sent to do.
type Errand struct {
	Args      []string              // without the program's name
	In        io.Reader             // answers
	Out, Talk io.Writer             // its result, and everything else
	Spoil     func(*virtual.Config) // what is switched on at the simulated jig
}

// TaskRequest is what a task may be told, in the words of the command line. Each
// task takes some of it.
type TaskRequest struct {
	Expect       string   `json:"expect"`
	Kind         string   `json:"kind"`
	Want         string   `json:"want"`
	Drawer       string   `json:"drawer"`
	At           string   `json:"at"`
	Rated        string   `json:"rated"`
	Surroundings string   `json:"surroundings"`
	Part         string   `json:"part"`
	Loads        []string `json:"loads,omitempty"`
	Check        string   `json:"check"`
	Reference    string   `json:"reference"`
	Skip         string   `json:"skip"`
	As           string   `json:"as"`
	Lowest       string   `json:"lowest"`
	Highest      string   `json:"highest"`
	Steps        string   `json:"steps"`
	Good         string   `json:"good"` // of a comparison on the simulated jig
	Matters      string   `json:"matters"`
	Thorough     bool     `json:"thorough"`
}

// Task is a command that was run with what is on the bench, and what came of it.
type Task struct {
	Name   string          `json:"name"`
	Time   time.Time       `json:"time"`
	Status int             `json:"status"` // as the command's exit status
	Asked  TaskRequest     `json:"asked"`
	Result json.RawMessage `json:"result"`         // its document; null where it came to none
	Facts  []view.Section  `json:"facts"`          // the same in words
	Talk   string          `json:"talk"`           // what it said meanwhile
	Chart  bool            `json:"chart"`          // it has drawn something
	Report bool            `json:"report"`         // it has written a report
	Spot   *SpotVerdict    `json:"spot,omitempty"` // of a part in a board; nil for none

	command []string
}

// taskKind is a task that the bench can have done, where the program has the command.
type taskKind struct {
	name   string
	chart  string // flag for the file of a drawing; empty for none
	report string // likewise of a report
	plays  bool   // it needs a part in the jig
	args   func(TaskRequest) []string
}

func taskKinds() []taskKind {
	return []taskKind{
		{"plan", "--chart", "--report", false, func(r TaskRequest) []string {
			return append(flags("--expect", r.Expect, "--kind", r.Kind, "--want", r.Want, "--drawer", r.Drawer, "--at", r.At), "--aside", "--grid")
		}},
		{"incircuit", "--plot", "--report", true, func(r TaskRequest) []string {
			return flags("--expect", r.Expect, "--rated", r.Rated, "--surroundings", r.Surroundings, "--at", r.At)
		}},
		{"identify", "--plot", "--report", true, func(r TaskRequest) []string {
			if r.Thorough {
				return append(flags("--at", r.At), "--thorough")
			}
			return flags("--at", r.At)
		}},
		{"level", "--plot", "--report", true, func(r TaskRequest) []string {
			return flags("--at", r.At, "--lowest", r.Lowest, "--highest", r.Highest, "--steps", r.Steps, "--as", r.As)
		}},
		{"compare", "", "--report", true, func(r TaskRequest) []string {
			return flags("--at", r.At, "--matters", r.Matters, "--good-part", r.Good, "--as", r.As)
		}},
		{"verify", "", "--report", false, func(r TaskRequest) []string {
			out := flags("--check", r.Check, "--reference", r.Reference, "--skip", r.Skip, "--at", r.At)
			for _, l := range r.Loads {
				out = append(out, flags("--load", l)...)
			}
			return out
		}},
	}
}

// flags are those that have a value. It is bound to its flag, so that no value can
// be another flag.
func flags(pairs ...string) []string {
	var out []string
	for i := 0; i < len(pairs); i += 2 {
		if value := strings.TrimSpace(pairs[i+1]); value != "" {
			out = append(out, pairs[i]+"="+value)
		}
	}
	return out
}

// task finds what the bench can have done.
func (b *Bench) task(name string) (taskKind, error) {
	for _, k := range taskKinds() {
		if k.name == name && b.has(name) {
			return k, nil
		}
	}
	return taskKind{}, notFound("there is no task %q", name)
}

// has reports whether the program has a command.
func (b *Bench) has(command string) bool {
	return b.opts.Command != nil && slices.Contains(b.opts.Commands, command)
}

// StartTask has a command run with what is on the bench.
func (b *Bench) StartTask(name string, req TaskRequest, tab string) error {
	kind, err := b.task(name)
	if err != nil {
		return err
	}
	return b.begin(name, req.Part, tab, func(a *activity, d *desk) error { return b.runTask(a, d, kind, req) })
}

// runTask runs a command and keeps what came of it.
func (b *Bench) runTask(a *activity, d *desk, kind taskKind, req TaskRequest) error {
	t := &Task{Name: kind.name, Time: b.opts.Now(), Asked: req, command: []string{kind.name, "--jig", d.jigEntry.file}}
	if d.cal != nil && kind.plays {
		t.command = append(t.command, "--calibration", d.path(calibrationName))
	}
	if part := b.partName(d, req.Part); kind.plays && part != "" {
		t.Asked.Part = part
		t.command = append(t.command, "--part="+part)
	}
	t.command = append(append(t.command, kind.args(req)...), "--json")
	drawn, err := t.asksFor(kind.chart, d.taskFile(kind.name, "svg"))
	if err != nil {
		return err
	}
	written, err := t.asksFor(kind.report, d.taskFile(kind.name, "html"))
	if err != nil {
		return err
	}
	b.converse(a, d, t)
	t.Chart, t.Report = drawn(), written()
	t.Facts, t.Spot = d.facts(t.Result), t.spotVerdict()
	if cause := context.Cause(a.ctx); cause != nil {
		return cause
	}
	return b.keepTask(d, t)
}

// asksFor has the command write a file, in the place of that of the time before; the
// function tells whether it did.
func (t *Task) asksFor(flag, file string) (func() bool, error) {
	if flag == "" {
		return func() bool { return false }, nil
	}
	if err := os.Remove(file); err != nil && !os.IsNotExist(err) {
		return nil, err
	}
	t.command = append(t.command, flag+"="+file)
	return func() bool {
		_, err := os.Stat(file)
		return err == nil
	}, nil
}

// facts puts a document into words.
func (d *desk) facts(doc json.RawMessage) []view.Section {
	var is struct {
		Schema string `json:"schema"`
	}
	if json.Unmarshal(doc, &is) != nil || is.Schema == "" {
		return []view.Section{}
	}
	jig := result.Kept{Role: notebook.JigFile, Name: d.jigEntry.file, Text: string(d.text)}
	return view.Sections(tell.EntryResult(&result.NotebookShow{RestsOn: []result.Kept{jig}, Result: doc}))
}

// keepTask writes a result before it is shown.
func (b *Bench) keepTask(d *desk, t *Task) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := writeJSON(d.taskFile(t.Name, "json"), t); err != nil {
		return err
	}
	d.tasks[t.Name] = t
	return nil
}

func (d *desk) taskFile(name, ending string) string { return d.path("task-" + name + "." + ending) }

func (d *desk) readTasks() error {
	d.tasks = map[string]*Task{}
	for _, k := range taskKinds() {
		var t Task
		if err := readJSON(d.taskFile(k.name, "json"), &t); err != nil {
			return err
		}
		if t.Name == k.name {
			d.tasks[k.name] = &t
		}
	}
	return nil
}

// converse runs the command of a task: what it says is shown as it says it, what a
// person answers is handed to it.
func (b *Bench) converse(a *activity, d *desk, t *Task) {
	answers, answer := io.Pipe()
	said, say := io.Pipe()
	b.setTalk([]string{}, answer)
	heard := make(chan string, 1)
	go func() { heard <- b.hear(said) }()
	stop := context.AfterFunc(a.ctx, func() { answer.CloseWithError(io.EOF) })
	defer stop()
	var out bytes.Buffer
	t.Status = b.opts.Command(a.ctx, Errand{t.command, answers, &out, say, b.spoilt(d)})
	say.Close()
	answers.Close()
	t.Talk = <-heard
	if text := bytes.TrimSpace(out.Bytes()); json.Valid(text) {
		t.Result = text
	}
	b.setTalk(nil, nil)
}

// hear shows the last lines that a command says, and returns all.
func (b *Bench) hear(said io.Reader) string {
	const shown = 14
	var all []string
	lines := bufio.NewScanner(said)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		all = append(all, strings.TrimRight(lines.Text(), "\r "))
		b.mu.Lock()
		b.talk = slices.Clone(all[max(0, len(all)-shown):])
		b.changed()
		b.mu.Unlock()
	}
	_, _ = io.Copy(io.Discard, said) // a line too long is no reason to hold the command up
	return strings.Join(all, "\n")
}

func (b *Bench) setTalk(lines []string, answer *io.PipeWriter) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.talk, b.answer = lines, answer
	b.changed()
}

// Answer hands a person's answer to the command that runs.
func (b *Bench) Answer(ctx context.Context, text string) error {
	if strings.ContainsAny(text, "\r\n") {
		return invalid("an answer is one line")
	}
	b.mu.Lock()
	w := b.answer
	b.mu.Unlock()
	if w == nil {
		return conflict("nothing is asked")
	}
	taken := make(chan error, 1)
	go func() {
		_, err := fmt.Fprintln(w, text) // ends with the command at the latest
		taken <- err
	}()
	select {
	case err := <-taken:
		if err != nil {
			return conflict("nothing is asked any more")
		}
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(2 * time.Second):
		return conflict("it does not wait for an answer")
	}
}

// TaskResult is what came of a task the last time; nil where it was not done yet.
func (b *Bench) TaskResult(name string) (*Task, error) {
	if _, err := b.task(name); err != nil {
		return nil, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.desk == nil {
		return nil, nil
	}
	return b.desk.tasks[name], nil
}
