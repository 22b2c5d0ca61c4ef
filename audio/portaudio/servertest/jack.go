//go:build linux

package servertest

import (
	"context"
	_ "embed"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// JackOptions change the server of [Jack].
type JackOptions struct {
	RateHz       int // 0 means 48000
	PeriodFrames int // 0 means 1024; below 512 a busy machine loses periods
}

// JackServer is a JACK server on its dummy driver. Its clients with ports are
// devices for a program; "system" is the dummy card, which hears exact zeros.
type JackServer struct {
	*Process
	Dir     string
	Env     []string // variables, "NAME=value", that programs need to find the server
	t       testing.TB
	options JackOptions
}

// noALSA leads to a server that is not there, so that ALSA shows no device. With
// none at all in its configuration PortAudio ends the program.
const noALSA = "pcm.!default { type pulse }\nctl.!default { type pulse }\n"

// jackName is the name of every server of ours: JACK has room for eight names and
// never frees one.
const jackName = "wheatear"

// Jack starts a server and gives the test's process the variables to find it. It
// ends with the test. Only one runs at a time on a machine; others wait for it.
func Jack(t testing.TB, o JackOptions) *JackServer {
	t.Helper()
	Need(t, "jackd", "jack_lsp")
	if o.RateHz == 0 {
		o.RateHz = 48000
	}
	if o.PeriodFrames == 0 {
		o.PeriodFrames = 1024
	}
	s := &JackServer{Dir: tempDir(t), t: t, options: o}
	s.Env = []string{"HOME=" + s.Dir, "JACK_NO_START_SERVER=1", "JACK_NO_AUDIO_RESERVATION=1",
		"JACK_DEFAULT_SERVER=" + jackName, "ALSA_CONFIG_PATH=" + s.Dir + "/asound.conf", "PULSE_SERVER=unix:" + s.Dir + "/none"}
	if err := os.WriteFile(filepath.Join(s.Dir, "asound.conf"), []byte(noALSA), 0o600); err != nil {
		t.Fatal(err)
	}
	lockJack(t)
	setenv(t, s.Env)
	s.Restart()
	return s
}

// lockJack waits until no other test has a JACK server.
func lockJack(t testing.TB) {
	t.Helper()
	f, err := os.OpenFile(filepath.Join(os.TempDir(), "wheatear-jack.lock"), os.O_CREATE|os.O_RDWR, 0o666)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() }) // and so unlocks
	for end := time.Now().Add(90 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		if err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err == nil {
			return
		}
		if time.Now().After(end) {
			t.Fatalf("servertest: another test has had the JACK server for 90 s: %v", err)
		}
	}
}

// Restart starts the server, again if it has ended.
func (s *JackServer) Restart() {
	s.t.Helper()
	s.Process = start(s.t, s.Dir, environment(s.Env), nil, nil, "jackd", "-n", jackName, "-r", "-d", "dummy",
		"-r", fmt.Sprint(s.options.RateHz), "-p", fmt.Sprint(s.options.PeriodFrames))
	s.await(s.t, func() error { _, err := s.ports(); return err })
}

// ports lists the ports that clients of the server have.
func (s *JackServer) ports() (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	cmd := exec.CommandContext(ctx, "jack_lsp")
	cmd.Env, cmd.WaitDelay = environment(s.Env), time.Second
	out, err := cmd.CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("jack_lsp: %w: %s", err, out)
	}
	return string(out), nil
}

// FirstOrder is the filter y[n] = B0 x[n] + B1 x[n-1] - A1 y[n-1].
type FirstOrder struct{ B0, B1, A1 float64 }

//go:embed testdata/jackjig.c
var jackJig string

// StartJig starts a client that looks like a sound card of the given name. It has
// two outputs, of which the first is the drive, and as many inputs as there are
// filters, one or two: each hears the drive through its filter. The clients must
// end before the server, and do with the test.
func (s *JackServer) StartJig(name string, filters ...FirstOrder) *Process {
	s.t.Helper()
	args := []string{name}
	for _, f := range filters {
		args = append(args, fmt.Sprint(f.B0), fmt.Sprint(f.B1), fmt.Sprint(f.A1))
	}
	p := start(s.t, s.Dir, environment(s.Env), nil, nil, s.compile(), args...)
	p.await(s.t, func() error {
		ports, err := s.ports()
		if err == nil && !strings.Contains(ports, fmt.Sprintf("%s:out_%d\n", name, len(filters))) {
			err = fmt.Errorf("ports are %q", ports)
		}
		return err
	})
	return p
}

// compile makes the client, once for a server.
func (s *JackServer) compile() string {
	s.t.Helper()
	Need(s.t, "gcc", "pkg-config")
	program := filepath.Join(s.Dir, "jackjig")
	if _, err := os.Stat(program); err == nil {
		return program
	}
	ask := exec.Command("pkg-config", "--cflags", "--libs", "jack")
	found, err := ask.Output()
	if err != nil {
		lacking(s.t, "JACK library to compile with", "libjack-jackd2-dev")
	}
	source := program + ".c"
	if err := os.WriteFile(source, []byte(jackJig), 0o600); err != nil {
		s.t.Fatal(err)
	}
	args := append([]string{"-O2", "-o", program, source}, strings.Fields(string(found))...)
	if out, err := exec.Command("gcc", args...).CombinedOutput(); err != nil {
		s.t.Fatalf("servertest: gcc: %v\n%s", err, out)
	}
	return program
}
