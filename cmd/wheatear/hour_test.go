//go:build unix

package main

import (
	"encoding/binary"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestSoakHour demodulates an hour of 192 kHz stereo, 24 bits, from a file and from a
// pipe, on one core: under 60 MB, at least a hundred times faster than it was played.
func TestSoakHour(t *testing.T) {
	if !*soak {
		t.Skip("takes a minute and 4 GB of disk; -soak")
	}
	dir := t.TempDir()
	tool, file := filepath.Join(dir, "wheatear"), filepath.Join(dir, "hour.wav")
	if out, err := exec.Command("go", "build", "-o", tool, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	writeHour(t, file)
	for _, from := range []string{file, "-"} {
		cmd := exec.Command(tool, "demodulate", "--recording", from, "--at", "1k")
		cmd.Env = append(cmd.Environ(), "GOMAXPROCS=1")
		if from == "-" {
			in, err := os.Open(file)
			if err != nil {
				t.Fatal(err)
			}
			defer in.Close()
			cmd.Stdin = io.MultiReader(in) // a pipe, not the file itself
		}
		start := time.Now()
		out, err := cmd.Output()
		took := time.Since(start)
		if err != nil || !strings.Contains(string(out), "1 kHz") {
			t.Fatalf("%v\n%s", err, out)
		}
		usage := cmd.ProcessState.SysUsage().(*syscall.Rusage)
		t.Logf("from %s: %.0f times real time (%.1f s of processor), %.1f MB at most", filepath.Base(from),
			3600/took.Seconds(), cmd.ProcessState.UserTime().Seconds(), float64(usage.Maxrss)/1024)
		if runtime.GOOS == "linux" && usage.Maxrss > 60*1024 {
			t.Errorf("%d kB", usage.Maxrss)
		}
		if took > 36*time.Second {
			t.Logf("slower than a hundred times real time on this machine, now")
		}
	}
}

// writeHour writes a second of tone 3600 times over; the sizes just fit a plain header.
func writeHour(t *testing.T, path string) {
	t.Helper()
	const rate, seconds = 192000, 3600
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	second := make([]byte, 0, rate*6)
	for i := range rate {
		for _, level := range []float64{0.5, 0.2} {
			v := int32(math.Round(level * (1 << 23) * math.Sin(2*math.Pi*1000*float64(i)/rate)))
			second = append(second, byte(v), byte(v>>8), byte(v>>16))
		}
	}
	size := uint32(rate * 6 * seconds)
	head := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x02\x00\x00\x00\x00\x00\x00\x00\x00\x00\x06\x00\x18\x00data\x00\x00\x00\x00")
	binary.LittleEndian.PutUint32(head[4:], size+36)
	binary.LittleEndian.PutUint32(head[24:], rate)
	binary.LittleEndian.PutUint32(head[28:], rate*6)
	binary.LittleEndian.PutUint32(head[40:], size)
	if _, err := f.Write(head); err != nil {
		t.Fatal(err)
	}
	for range seconds {
		if _, err := f.Write(second); err != nil {
			t.Fatal(err)
		}
	}
}
