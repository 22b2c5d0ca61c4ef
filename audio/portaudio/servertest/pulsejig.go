//go:build linux

package servertest

import (
	"fmt"
	"os"
	"syscall"
	"testing"
	"time"
)

// Jig is the process between the output and the input of a card, with what brings
// and takes its frames.
type Jig struct {
	Filter *Process
	bring  *Process
	take   *Process
}

// StartJig puts a command between the sinks of the card. It gets raw frames of two
// float32 channels (little endian) at the rate on its standard input, the drive on
// both unless the program plays otherwise, and must write as many to its standard
// output: what the card hears. It has the environment of this process and extra.
func (s *PulseServer) StartJig(rateHz int, extra []string, command ...string) *Jig {
	s.t.Helper()
	format := []string{"--raw", "--format=float32le", fmt.Sprintf("--rate=%d", rateHz), "--channels=2"}
	fromServer, toFilter := pipe(s.t)
	fromFilter, toServer := pipe(s.t)
	env := environment(s.Env)
	j := &Jig{}
	j.take = start(s.t, s.Dir, env, fromFilter, nil, "pacat", append(format, "--device="+InputSink, "--latency-msec=100")...)
	j.Filter = start(s.t, s.Dir, append(os.Environ(), extra...), fromServer, toServer, command[0], command[1:]...)
	j.bring = start(s.t, s.Dir, env, nil, toFilter, "parec", append(format, "--device="+OutputSink+".monitor", "--latency-msec=50")...)
	for _, f := range []*os.File{fromServer, toFilter, fromFilter, toServer} {
		f.Close() // the processes have theirs
	}
	time.Sleep(700 * time.Millisecond) // until silence has filled the way
	for _, p := range []*Process{j.take, j.Filter, j.bring} {
		if !p.Running() {
			s.t.Fatalf("servertest: %s ended: %v\n%s", p.Name, p.err, p.Log())
		}
	}
	return j
}

// Freeze stops the filter for a while, as a busy machine would.
func (j *Jig) Freeze(d time.Duration) {
	j.Filter.Signal(syscall.SIGSTOP)
	time.Sleep(d)
	j.Filter.Signal(syscall.SIGCONT)
}

// Stop takes the jig away.
func (j *Jig) Stop() {
	j.bring.Stop()
	j.Filter.Stop()
	j.take.Stop()
}

func pipe(t testing.TB) (r, w *os.File) {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	return r, w
}
