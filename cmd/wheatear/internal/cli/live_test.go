package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/live"
)

func TestMain(m *testing.M) {
	tidy := clitest.OwnNotebook()
	goleak.VerifyTestMain(m, goleak.Cleanup(func(status int) {
		tidy()
		os.Exit(status)
	}))
}

// desk is a bench with a card that a person has to serve: what the card is called
// real by is that nothing puts parts into it but the person.
type desk struct {
	t    *testing.T
	card *virtual.Card
	live audio.Card // what sessions get: the card, or something around it
	dir  string

	list    []portaudio.Device
	listErr error
}

// real hides that the card is simulated.
type real struct{ audio.Card }

func newDesk(t *testing.T) *desk {
	t.Helper()
	tray, err := virtual.ParseTray("tray.toml", []byte(clitest.Tray))
	if err != nil {
		t.Fatal(err)
	}
	card, err := virtual.New(virtual.Config{Jig: virtual.TypicalJig(), Faults: virtual.TypicalFaults(1), Tray: tray, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	b := &desk{t: t, card: card, live: real{card}, dir: t.TempDir()}
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(b.dir, "config"))
	t.Chdir(b.dir)
	jig := strings.Replace(strings.Replace(clitest.LiveJig, "virtual", "portaudio", 1), "full_scale = \"1V\"\n", "", 1)
	if err := os.WriteFile("real.toml", []byte(jig), 0o666); err != nil {
		t.Fatal(err)
	}
	return b
}

// hands answer questions, a line each; "=NAME" before an answer puts NAME in first.
type hands struct {
	b     *desk
	lines []string
	buf   bytes.Buffer
}

// Read gives one line, as a terminal does.
func (h *hands) Read(p []byte) (int, error) {
	if h.buf.Len() == 0 {
		if len(h.lines) == 0 {
			return 0, io.EOF
		}
		line := h.lines[0]
		h.lines = h.lines[1:]
		if name, answer, ok := strings.Cut(strings.TrimPrefix(line, "="), "="); strings.HasPrefix(line, "=") && ok {
			if err := h.b.card.Insert(name); err != nil {
				h.b.t.Error(err)
			}
			line = answer
		}
		h.buf.WriteString(line + "\n")
	}
	return h.buf.Read(p)
}

// run runs a command with a person who gives these answers.
func (b *desk) run(ctx context.Context, line string, answers ...string) (status int, stdout, stderr string) {
	b.t.Helper()
	var out, talk bytes.Buffer
	a := newApp(ctx, &hands{b: b, lines: answers}, &out, &talk)
	a.openCard = func(_ context.Context, o live.Options) (*live.Session, error) { return live.New(b.live, o), nil }
	a.listCards = func(context.Context, portaudio.Options) ([]portaudio.Device, error) { return b.list, b.listErr }
	status = a.run(strings.Fields(line))
	if strings.Contains(line, "--json") && out.Len() > 0 {
		if err := clitest.ConformsText(out.Bytes()); err != nil {
			b.t.Errorf("%s: %v", line, err)
		}
	}
	for _, text := range strings.Split(out.String()+talk.String(), "\n") {
		if n := len([]rune(text)); n > 80 {
			b.t.Errorf("%s: %d columns: %s", line, n, text)
		}
	}
	return status, out.String(), talk.String()
}

// flat undoes the breaking of lines.
func flat(text string) string { return strings.Join(strings.Fields(text), " ") }

// inOrder checks that words come in this order.
func inOrder(t *testing.T, text string, words ...string) {
	t.Helper()
	rest := flat(text)
	for _, w := range words {
		_, after, ok := strings.Cut(rest, w)
		if !ok {
			t.Errorf("%q is not said, or not there, in\n%s", w, text)
			return
		}
		rest = after
	}
}

func TestAPersonCalibratesAndMeasures(t *testing.T) {
	b := newDesk(t)
	status, out, talk := b.run(context.Background(), "calibrate --jig real.toml --at 1k --out cal.json",
		"1k/0.1%", "=open=", "=r470=", "=short=hello", "", "=load=")
	if status != 0 || !strings.Contains(out, "open, short, load 1k/0.1%  all settled") {
		t.Fatalf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, talk, "Before the first tone:", "Which resistor of known value have you", "OPEN: nothing between", "Recorded.",
		"SHORT: join", "Refused, this cannot be the short", "the short reads 47", "SHORT: join", `"hello": Enter, s or q`,
		"Recorded.", "LOAD: connect the resistor of 1k/0.1%", "Written to cal.json")

	if err := b.card.Insert("c100n"); err != nil {
		t.Fatal(err)
	}
	status, out, talk = b.run(context.Background(), "measure --jig real.toml --calibration cal.json --at 1k --part mine")
	if status != 0 || !strings.Contains(out, "mine at 1 kHz: capacitor") || strings.Contains(talk, "Before the first tone") {
		t.Errorf("status %d: %s\n%s", status, out, talk)
	}
}

func TestSkippedAndStopped(t *testing.T) {
	b := newDesk(t)
	status, out, _ := b.run(context.Background(), "calibrate --jig real.toml --at 1k --out cal.json", "", "=open=", "s")
	if status != 0 || !strings.Contains(out, "open       the rest by what is usual of jigs") {
		t.Errorf("a short skipped, no load: status %d: %s", status, out)
	}
	cases := []struct {
		answers []string
		status  int
		say     string
	}{
		{[]string{"", "=open=", "q"}, 1, "stopped before all standards were recorded"},
		{[]string{"", "=open="}, 1, "nobody answers"},
		{[]string{"1k/5", ""}, 1, "nobody answers"},
		{nil, 1, "nobody answers"},
		{[]string{"", "s", "s"}, 1, "every standard was skipped"},
		{[]string{"", "=r22="}, 3, "nothing was written"},
		{[]string{"", "=r22=", "q"}, 3, "nothing was written"},
	}
	for _, c := range cases {
		os.Remove("cal.json")
		status, _, talk := b.run(context.Background(), "calibrate --jig real.toml --at 1k --out cal.json", c.answers...)
		if status != c.status || !strings.Contains(flat(talk), c.say) {
			t.Errorf("%q: status %d: %s", c.answers, status, talk)
		}
		if _, err := os.Stat("cal.json"); err == nil {
			t.Errorf("%q: a calibration was written", c.answers)
		}
	}
}

// ctrl-C while a question waits: the command ends at once, and says what is kept.
func TestInterruptedAtAQuestion(t *testing.T) {
	b := newDesk(t)
	ctx, cancel := context.WithCancel(context.Background())
	in, typing := io.Pipe()
	defer typing.Close() // ends the goroutine that waits for a line
	var out bytes.Buffer
	talk := trigger{word: "SHORT", do: cancel}
	a := newApp(ctx, in, &out, &talk)
	a.openCard = func(_ context.Context, o live.Options) (*live.Session, error) { return live.New(b.live, o), nil }
	go io.WriteString(typing, "\n\n") // no load; the open is there
	status := a.run(strings.Fields("calibrate --jig real.toml --at 1k --out cal.json --keep rec"))
	if status != 1 || out.Len() > 0 {
		t.Errorf("status %d: %s", status, out.String())
	}
	inOrder(t, talk.String(), "SHORT", "What was recorded is kept in rec", "nothing was written", "interrupted")
	if _, err := os.Stat("rec/open-1.wav"); err != nil {
		t.Error(err)
	}
}

// trigger does something when a word is written.
type trigger struct {
	bytes.Buffer
	word string
	do   func()
}

func (g *trigger) Write(p []byte) (int, error) {
	if bytes.Contains(p, []byte(g.word)) {
		g.do()
	}
	return g.Buffer.Write(p)
}

// after cancels the run once so many records have been made.
type after struct {
	audio.Card
	runs   int
	cancel context.CancelFunc
}

func (c *after) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	if c.runs--; c.runs < 0 {
		c.cancel()
	}
	return c.Card.Run(ctx, cfg, stimulus)
}

// ctrl-C in the middle of a series: what was recorded is read and reported.
func TestInterruptedSeries(t *testing.T) {
	for runs, want := range map[int]string{2: "2 recordings at 1 kHz", 0: ""} {
		b := newDesk(t)
		ctx, cancel := context.WithCancel(context.Background())
		b.live = &after{Card: real{b.card}, runs: runs, cancel: cancel}
		status, out, talk := b.run(ctx, "measure --jig real.toml --at 1k --within 100")
		if status != 1 || !strings.Contains(talk, "interrupted") || !strings.Contains(out, want) || (want == "") != (out == "") {
			t.Errorf("after %d records: status %d: %s\n%s", runs, status, out, talk)
		}
		cancel()
	}
}

// ctrl-C is the usual end of watching.
func TestInterruptedWatch(t *testing.T) {
	for runs, want := range map[int]int{3: 0, 0: 1} {
		b := newDesk(t)
		ctx, cancel := context.WithCancel(context.Background())
		b.live = &after{Card: real{b.card}, runs: runs, cancel: cancel}
		status, out, talk := b.run(ctx, "measure --jig real.toml --at 1k --watch")
		if status != want || strings.Count(out, "1 kHz  ") != runs {
			t.Errorf("after %d records: status %d: %s\n%s", runs, status, out, talk)
		}
		cancel()
	}
}

// A card that goes away in the middle of a series: status 1, and what was there.
func TestCardGoneInASeries(t *testing.T) {
	b := newDesk(t)
	b.live = &leaving{Card: real{b.card}, runs: 2}
	status, out, talk := b.run(context.Background(), "measure --jig real.toml --at 1k --within 100 --keep rec")
	if status != 1 || !strings.Contains(out, "2 recordings at 1 kHz") {
		t.Errorf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, talk, "device gone", "2 records averaged", "--recording rec/part-2.wav")
	if status, _, talk = b.run(context.Background(), "calibrate --jig real.toml --at 1k --out cal.json", "", "=open="); status != 1 || !strings.Contains(flat(talk), "device gone") {
		t.Errorf("status %d: %s", status, talk)
	}
}

// leaving is a card whose device goes after so many runs.
type leaving struct {
	audio.Card
	runs int
}

func (c *leaving) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	if c.runs--; c.runs < 0 {
		return audiotest.FailAfter(c.Card, 3000, audio.ErrLost).Run(ctx, cfg, stimulus)
	}
	return c.Card.Run(ctx, cfg, stimulus)
}

// A calibration of one card does not serve another.
func TestAnotherCard(t *testing.T) {
	b := newDesk(t)
	b.live = b.card // its name is known
	if status, _, talk := b.run(context.Background(), "calibrate --jig real.toml --at 1k --out cal.json"); status != 0 {
		t.Fatal(talk)
	}
	other, err := virtual.New(virtual.Config{Jig: virtual.TypicalJig(), Faults: virtual.TypicalFaults(1), Name: "another"})
	if err != nil {
		t.Fatal(err)
	}
	b.live = other
	status, out, _ := b.run(context.Background(), "measure --jig real.toml --calibration cal.json --at 1k --part load")
	if status != 3 || !strings.Contains(flat(out), `the card is "virtual: another", the calibration's "virtual: simulated jig"`) {
		t.Errorf("status %d: %s", status, out)
	}
}

func TestDevices(t *testing.T) {
	b := newDesk(t)
	usb := portaudio.Device{Number: 1, API: "ALSA", Name: "USB Audio (hw:1,0)", Inputs: 2, Outputs: 2, RatesHz: []float64{44100, 48000}}
	long := portaudio.Device{Number: 12, API: "Windows DirectSound", Name: strings.Repeat("Microphone of a long name ", 4), Inputs: 1, Outputs: 0, DefaultInput: true}
	cases := []struct {
		name   string
		list   []portaudio.Device
		err    error
		human  int
		json   int
		out    string
		stderr string
	}{
		{"one that serves", []portaudio.Device{usb, long}, nil, 0, 0, `input = "ALSA: USB Audio (hw:1,0)"`, ""},
		{"none that serves", []portaudio.Device{long}, nil, 0, 0, "simulated", "two inputs"},
		{"none", nil, nil, 1, 0, "simulated", "no sound device at all"},
		{"not built", nil, errors.ErrUnsupported, 1, 0, "simulated", "unsupported"},
		{"a library that hangs", nil, &audio.DeviceError{Op: "list", Err: audio.ErrTimeout}, 1, 1, "simulated", "not answering"},
	}
	for _, c := range cases {
		b.list, b.listErr = c.list, c.err
		status, out, talk := b.run(context.Background(), "devices")
		if status != c.human || !strings.Contains(out, c.out) || !strings.Contains(talk, c.stderr) || (c.stderr == "") != (talk == "") {
			t.Errorf("%s: status %d\n%s\n%s", c.name, status, out, talk)
		}
		if status, out, _ = b.runWide("devices --json"); status != c.json || !strings.HasPrefix(out, `{`) {
			t.Errorf("%s: status %d\n%s", c.name, status, out)
		}
	}
}

// runWide is for output that no person reads.
func (b *desk) runWide(line string) (status int, stdout, stderr string) {
	var out, talk bytes.Buffer
	a := newApp(context.Background(), strings.NewReader(""), &out, &talk)
	a.listCards = func(context.Context, portaudio.Options) ([]portaudio.Device, error) { return b.list, b.listErr }
	return a.run(strings.Fields(line)), out.String(), talk.String()
}

func TestSetupOfARealCard(t *testing.T) {
	b := newDesk(t)
	b.list = []portaudio.Device{
		{Number: 0, API: "ALSA", Name: "mic (hw:0,0)", Inputs: 2},
		{Number: 1, API: "ALSA", Name: "out (hw:1,0)", Outputs: 2},
		{Number: 2, API: "ALSA", Name: "mono (hw:2,0)", Inputs: 1, Outputs: 2},
	}
	status, _, talk := b.run(context.Background(), "setup", "", "9", "3", "1", "2", "", "1k/0.1%", "50", "made.toml", "")
	if status != 0 {
		t.Fatalf("status %d: %s", status, talk)
	}
	inOrder(t, talk, "CAUTIONS", "Press Enter", "1 ALSA: mic (hw:0,0) (2 in, 0 out)", "ALSA: mic (hw:0,0) would serve", "the list goes from 0 to 3",
		"has one input; two are needed", "The levels are good", "Written to made.toml")
	text, err := os.ReadFile("made.toml")
	if err != nil || !strings.Contains(string(text), "input = \"ALSA: mic (hw:0,0)\"\noutput = \"ALSA: out (hw:1,0)\"\n") {
		t.Errorf("%v: %s", err, text)
	}
	// The cautions have been read: measuring does not show them again.
	if status, _, talk = b.run(context.Background(), "measure --jig made.toml --at 1k"); status != 0 || strings.Contains(talk, "Before the first tone") {
		t.Errorf("status %d: %s", status, talk)
	}
	// The pair that would serve is what an empty answer takes.
	status, _, talk = b.run(context.Background(), "setup --cautions-read --channels 1 --reference 1k --mains 50 --levels no --out taken.toml", "")
	if text, err = os.ReadFile("taken.toml"); status != 0 || err != nil || !strings.Contains(string(text), `output = "ALSA: out (hw:1,0)"`) {
		t.Errorf("status %d: %v: %s\n%s", status, err, text, talk)
	}
	// A jig file is not overwritten unasked.
	if status, _, talk = b.run(context.Background(), "setup --cautions-read --input simulated --channels 1 --reference 2k --mains 50 --levels no --out taken.toml", "no"); status != 1 {
		t.Errorf("status %d: %s", status, talk)
	}
	if again, _ := os.ReadFile("taken.toml"); string(again) != string(text) {
		t.Errorf("overwritten: %s", again)
	}
	if status, _, _ = b.run(context.Background(), "setup --cautions-read --input simulated --channels 1 --reference 2k --mains 50 --levels no --out taken.toml", "yes"); status != 0 {
		t.Errorf("status %d", status)
	}
}
