//go:build linux

package servertest

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// listener is a test that only listens to what is said of it.
type listener struct {
	testing.TB
	skipped, failed string
}

func (l *listener) Helper() {}

func (l *listener) Skipf(format string, args ...any) { l.skipped = fmt.Sprintf(format, args...) }

func (l *listener) Fatalf(format string, args ...any) { l.failed = fmt.Sprintf(format, args...) }

// What is missing skips a test at home and fails it where all is said to be there.
func TestNeed(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	for _, ci := range []string{"", "1"} {
		t.Setenv(CI, ci)
		var l listener
		Need(&l, "jackd")
		said, silent := l.skipped, l.failed
		if ci != "" {
			said, silent = silent, said
		}
		if !strings.Contains(said, "no jackd here (Debian: apt install jackd2)") || silent != "" {
			t.Errorf("%s=%q: skipped %q, failed %q", CI, ci, l.skipped, l.failed)
		}
	}
}

// Programs must never find the user's own server.
func TestEnvironment(t *testing.T) {
	t.Setenv("PULSE_SINK", "mine")
	t.Setenv("JACK_DEFAULT_SERVER", "mine")
	t.Setenv("DISPLAY", ":0")
	t.Setenv("KEPT", "yes")
	all := strings.Join(environment([]string{"PULSE_SERVER=unix:here"}), "\n") + "\n"
	for _, gone := range []string{"PULSE_SINK=", "JACK_DEFAULT_SERVER=", "DISPLAY="} {
		if strings.Contains(all, gone) {
			t.Errorf("%s is still there", gone)
		}
	}
	for _, there := range []string{"KEPT=yes\n", "PULSE_SERVER=unix:here\n"} {
		if !strings.Contains(all, there) {
			t.Errorf("%s is not there", there)
		}
	}
}

// The process's own libraries read its variables.
func TestSetenv(t *testing.T) {
	t.Setenv("DISPLAY", ":0")
	t.Setenv("PULSE_SINK", "mine")
	t.Run("inner", func(t *testing.T) {
		setenv(t, []string{"HOME=/somewhere"})
		if _, there := os.LookupEnv("DISPLAY"); there || os.Getenv("HOME") != "/somewhere" {
			t.Error("the variables are not those of the server")
		}
		if v, there := os.LookupEnv("PULSE_SINK"); there {
			t.Errorf("PULSE_SINK is still %q", v)
		}
	})
	if os.Getenv("DISPLAY") != ":0" || os.Getenv("PULSE_SINK") != "mine" {
		t.Error("the variables were not put back")
	}
}

// A process that ignores being asked is ended all the same, and one that has ended
// says what it printed.
func TestProcessEnds(t *testing.T) {
	dir := tempDir(t)
	p := start(t, dir, os.Environ(), nil, nil, "sh", "-c", "trap '' TERM; echo here; while :; do sleep 0.05; done")
	p.await(t, func() error {
		if p.Log() == "" {
			return fmt.Errorf("silent")
		}
		return nil
	})
	if !p.Running() || p.Pid() < 2 {
		t.Fatal("it does not run")
	}
	p.Stop()
	if p.Running() || p.Log() != "here\n" {
		t.Errorf("running %t, printed %q", p.Running(), p.Log())
	}
}
