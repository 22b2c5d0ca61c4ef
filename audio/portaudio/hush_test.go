//go:build unix

package portaudio

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"sync"
	"syscall"
	"testing"

	"example.org/wheatear/audio"
)

// spy puts a pipe in the place of descriptor 2 and returns what arrived there.
func spy(t *testing.T, f func()) string {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	saved, err := syscall.Dup(2)
	if err != nil {
		t.Fatal(err)
	}
	defer syscall.Close(saved)
	if err := replace(int(w.Fd()), 2); err != nil {
		t.Fatal(err)
	}
	f()
	if err := replace(saved, 2); err != nil {
		t.Fatal(err)
	}
	w.Close()
	var got bytes.Buffer
	if _, err := got.ReadFrom(r); err != nil {
		t.Fatal(err)
	}
	return got.String()
}

// chatter prints as a C library does, straight to the descriptor.
func chatter(t *testing.T, text string) {
	t.Helper()
	if _, err := syscall.Write(2, []byte(text)); err != nil {
		t.Error(err)
	}
}

func TestHush(t *testing.T) {
	var log bytes.Buffer
	got := spy(t, func() {
		chatter(t, "before,")
		restore := hush(&log)
		chatter(t, "library")
		inner := hush(nil)
		chatter(t, " talk")
		inner()
		inner() // twice does no harm
		chatter(t, " goes on")
		restore()
		chatter(t, "after")
	})
	if got != "before,after" || log.String() != "library talk goes on" {
		t.Errorf("on the terminal %q, in the log %q", got, log.String())
	}
}

// Many at once leave the descriptor as it was, and none open.
func TestHushByMany(t *testing.T) {
	var file syscall.Stat_t
	got := spy(t, func() {
		if err := syscall.Fstat(2, &file); err != nil {
			t.Fatal(err)
		}
		var all sync.WaitGroup
		for range 50 {
			all.Go(func() {
				defer hush(nil)()
				chatter(t, "x")
			})
		}
		all.Wait()
		var now syscall.Stat_t
		if err := syscall.Fstat(2, &now); err != nil || now.Ino != file.Ino {
			t.Errorf("the descriptor is not the one it was: %v", err)
		}
		chatter(t, "end")
	})
	if got != "end" {
		t.Errorf("on the terminal %q", got)
	}
}

// More than fits is lost; it must not stop the library that prints.
func TestHushOverflows(t *testing.T) {
	var log bytes.Buffer
	line := bytes.Repeat([]byte("y"), 1000)
	got := spy(t, func() {
		restore := hush(&log)
		for range 1000 {
			_, _ = syscall.Write(2, line) // an error once the pipe is full
		}
		restore()
	})
	if got != "" || log.Len() < 4096 || log.Len() >= 1000*1000 {
		t.Errorf("%d bytes on the terminal, %d in the log", len(got), log.Len())
	}
}

// A program that is brought down by a library says so nevertheless.
func TestCrashIsHeard(t *testing.T) {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), asCrash+"=1")
	out, err := cmd.CombinedOutput()
	if err == nil || !bytes.Contains(out, []byte("brought down while nobody hears")) {
		t.Errorf("%v: %q", err, out)
	}
}

// Standard error that is closed is no reason to fail, or to take what others open.
func TestHushWithoutStandardError(t *testing.T) {
	spy(t, func() {
		if err := syscall.Close(2); err != nil {
			t.Fatal(err)
		}
		hush(nil)()
	})
}

// What threads of the library print during a run is kept away, and what the program
// has to say is not.
func TestQuietRun(t *testing.T) {
	for _, quiet := range []bool{false, true} {
		var log bytes.Buffer
		got := spy(t, func() {
			own := Stderr()
			defer own.Close()
			c := openScripted(t, threeDevices(), Options{Input: "card", Log: &log, Quiet: quiet})
			told := false
			_, err := c.RunMonitored(context.Background(), audio.Config{Frames: 4800}, nil, func(int64, [][]float64) bool {
				if !told {
					told = true
					chatter(t, "underrun!")
					_, _ = own.WriteString("recording")
				}
				return true
			})
			if err != nil {
				t.Error(err)
			}
		})
		want := "underrun!recording"
		if quiet {
			want = "recording"
		}
		if got != want || quiet != bytes.Contains(log.Bytes(), []byte("underrun!")) {
			t.Errorf("quiet %t: on the terminal %q, in the log %q", quiet, got, log.String())
		}
	}
}
