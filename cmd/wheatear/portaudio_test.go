//go:build portaudio && cgo && linux

package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"example.org/wheatear/audio/portaudio/servertest"
)

// TestSound measures with the real program through real sound servers, which the
// tests start; between output and input stands the simulated jig, a process of its
// own. go test -tags portaudio -run TestSound/Readings -v prints the readings.
func TestSound(t *testing.T) {
	servertest.Need(t, "pulseaudio", "pactl", "parec", "pacat", "jackd", "jack_lsp", "gcc", "pkg-config")
	p := build(t)
	t.Cleanup(func() { p.noneLeft(t) }) // after all else has ended
	t.Run("Readings", p.testReadings)
	t.Run("Failures", p.testFailures)
	t.Run("Serve", p.testServe)
	t.Run("Jack", p.testJack)
	t.Run("NoServer", p.testNoServer)
}

// tagged is the command as it is built for people with a sound card.
type tagged struct{ path string }

func build(t *testing.T) *tagged {
	t.Helper()
	p := &tagged{filepath.Join(t.TempDir(), "wheatear")}
	if out, err := exec.Command("go", "build", "-tags", "portaudio", "-o", p.path, ".").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return p
}

// noneLeft fails the test if a process of the program goes on.
func (p *tagged) noneLeft(t *testing.T) {
	for end := time.Now().Add(2 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		left := p.processes()
		if len(left) == 0 {
			return
		}
		if time.Now().After(end) {
			t.Errorf("processes are left over: %v", left)
			return
		}
	}
}

// processes are the command lines of the program's processes.
func (p *tagged) processes() (list []string) {
	links, _ := filepath.Glob("/proc/[0-9]*/exe")
	for _, link := range links {
		if exe, err := os.Readlink(link); err == nil && strings.HasPrefix(exe, p.path) {
			line, _ := os.ReadFile(filepath.Join(filepath.Dir(link), "cmdline"))
			list = append(list, strings.ReplaceAll(string(line), "\x00", " "))
		}
	}
	return list
}

// mostTime is after when a run of the program has failed, whatever it does.
const mostTime = 40 * time.Second

// process is a run of the program under way.
type process struct {
	t      *testing.T
	cmd    *exec.Cmd
	line   string
	in     io.WriteCloser
	out    bytes.Buffer
	talk   heardTalk
	ended  chan struct{}
	status int
	at     time.Time // of its end
}

// start runs the program with the words of a line and more of them.
func (p *tagged) start(t *testing.T, line string, more ...string) *process {
	t.Helper()
	args := append(strings.Fields(line), more...)
	r := &process{t: t, line: line, cmd: exec.Command(p.path, args...), ended: make(chan struct{})}
	r.cmd.Stdout, r.cmd.Stderr = &r.out, &r.talk
	r.cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	var err error
	if r.in, err = r.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	r.launch()
	return r
}

// launch starts the process, which ends with the test at the latest.
func (r *process) launch() {
	r.t.Helper()
	if err := r.cmd.Start(); err != nil {
		r.t.Fatal(err)
	}
	go func() {
		_ = r.cmd.Wait() // the status tells
		r.status, r.at = r.cmd.ProcessState.ExitCode(), time.Now()
		close(r.ended)
	}()
	r.t.Cleanup(func() {
		_ = r.cmd.Process.Kill()
		<-r.ended
	})
}

// run is start and the wait for the end, without anybody who answers.
func (p *tagged) run(t *testing.T, line string, more ...string) *process {
	t.Helper()
	r := p.start(t, line, more...)
	r.in.Close()
	r.end()
	return r
}

// answer writes a line to the program.
func (r *process) answer(text string) {
	r.t.Helper()
	if _, err := io.WriteString(r.in, text+"\n"); err != nil {
		r.t.Fatalf("%s: %v; it said %s", r.line, err, r.talk.text())
	}
}

// hears waits until the program says a text that it had not said before.
func (r *process) hears(text string) {
	r.t.Helper()
	for end := time.Now().Add(mostTime); ; time.Sleep(10 * time.Millisecond) {
		if r.talk.passes(text) {
			return
		}
		select {
		case <-r.ended:
			if r.talk.passes(text) {
				return
			}
			r.t.Fatalf("%s: ended with status %d before it said %q; it said %s", r.line, r.status, text, r.talk.text())
		default:
		}
		if time.Now().After(end) {
			r.t.Fatalf("%s: never said %q; it said %s", r.line, text, r.talk.text())
		}
	}
}

// end waits for the end.
func (r *process) end() {
	r.t.Helper()
	select {
	case <-r.ended:
	case <-time.After(mostTime):
		r.t.Fatalf("%s: goes on; it said %s", r.line, r.talk.text())
	}
}

// wants checks how the run ended: its status, and what it said to a person.
func (r *process) wants(status int, talk ...string) {
	r.t.Helper()
	if r.status != status {
		r.t.Errorf("%s: status %d, want %d; it said %s%s", r.line, r.status, status, r.talk.text(), r.out.String())
	}
	said := strings.Join(strings.Fields(r.talk.text()), " ") // lines are broken anywhere
	for _, text := range talk {
		if !strings.Contains(said, text) {
			r.t.Errorf("%s: never said %q; it said %s", r.line, text, r.talk.text())
		}
	}
	for _, trace := range []string{"goroutine ", "panic:", "ALSA lib", "Expression '"} {
		if strings.Contains(r.talk.text(), trace) {
			r.t.Errorf("%s: this is not for people: %s", r.line, r.talk.text())
		}
	}
}

// within checks that the run ended soon after something had happened. On a busy machine
// it may take longer; only what no machine's business explains is a fault.
func (r *process) within(limit time.Duration, since time.Time) {
	r.t.Helper()
	took := r.at.Sub(since)
	if took > limit {
		r.t.Logf("%s: it took %v, want %v", r.line, took, limit)
	}
	if took > slack*limit {
		r.t.Errorf("%s: it took %v, want at most %v", r.line, took, limit)
	}
}

// soon is how long trouble may take to be told.
const soon = 3 * time.Second

// slack is how much longer a busy machine may take than one at rest.
const slack = 4

// heardTalk gathers what a program says while it runs.
type heardTalk struct {
	mu  sync.Mutex
	all bytes.Buffer
	at  int // up to here it was listened to
}

func (h *heardTalk) Write(p []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.all.Write(p)
}

func (h *heardTalk) text() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.all.String()
}

// passes listens on, behind the text if it is there.
func (h *heardTalk) passes(text string) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	i := strings.Index(h.all.String()[h.at:], text)
	if i < 0 {
		return false
	}
	h.at += i + len(text)
	return true
}
