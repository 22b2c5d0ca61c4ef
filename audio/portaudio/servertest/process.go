//go:build linux

package servertest

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// Process is one that the test started.
type Process struct {
	Name string
	cmd  *exec.Cmd
	done chan struct{}
	err  error
	log  string
}

// start runs a command with standard output to out, or to its log if nil, and
// standard error to its log. It is ended when the test ends.
func start(t testing.TB, dir string, env []string, in io.Reader, out io.Writer, name string, args ...string) *Process {
	t.Helper()
	p := &Process{Name: filepath.Base(name), done: make(chan struct{})}
	log, err := os.CreateTemp(dir, p.Name+"-*.log")
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	p.log = log.Name()
	p.cmd = exec.Command(name, args...)
	p.cmd.Env, p.cmd.Dir, p.cmd.Stdin, p.cmd.Stderr, p.cmd.Stdout = env, dir, in, log, log
	p.cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} // should the test itself be brought down
	if out != nil {
		p.cmd.Stdout = out
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatalf("servertest: %s: %v", name, err)
	}
	go func() {
		p.err = p.cmd.Wait()
		close(p.done)
	}()
	t.Cleanup(p.Stop)
	return p
}

// Pid returns the process id.
func (p *Process) Pid() int { return p.cmd.Process.Pid }

// Signal sends a signal, such as syscall.SIGSTOP.
func (p *Process) Signal(s syscall.Signal) error { return p.cmd.Process.Signal(s) }

// Kill ends the process at once, as kill -9 does, and waits for its end.
func (p *Process) Kill() {
	p.cmd.Process.Kill()
	p.ended(5 * time.Second)
}

// Stop asks the process to end, and kills it if it has not after two seconds.
func (p *Process) Stop() {
	p.Signal(syscall.SIGCONT) // or it would not hear
	p.Signal(syscall.SIGTERM)
	if !p.ended(2 * time.Second) {
		p.Kill()
	}
}

// Running says whether the process has not ended.
func (p *Process) Running() bool { return !p.ended(0) }

// ended waits for the end of the process, but not longer than the limit.
func (p *Process) ended(limit time.Duration) bool {
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case <-p.done:
		return true
	case <-timer.C:
	}
	select { // both may have been ready
	case <-p.done:
		return true
	default:
		return false
	}
}

// Log returns what the process has printed.
func (p *Process) Log() string {
	text, err := os.ReadFile(p.log)
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// await waits until ready returns nil, and fails the test if it does not within
// ten seconds or the process ends.
func (p *Process) await(t testing.TB, ready func() error) {
	t.Helper()
	err := fmt.Errorf("never asked")
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if !p.Running() {
			t.Fatalf("servertest: %s ended: %v\n%s", p.Name, p.err, p.Log())
		}
		if err = ready(); err == nil {
			return
		}
	}
	t.Fatalf("servertest: %s is not ready after 10 s: %v\n%s", p.Name, err, p.Log())
}
