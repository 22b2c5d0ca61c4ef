//go:build portaudio && cgo && linux

package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"go.uber.org/goleak"

	"example.org/wheatear/audio/portaudio/servertest"
	"example.org/wheatear/cmd/wheatear/internal/cli"
)

// testInterrupted: asked to end, the program reads what it has.
func testInterrupted(t *testing.T, b *jigBench) {
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		r := b.start(t, b.measureLine("1k")+" --within 20 --json --keep "+b.file("interrupted-"+sig.String()))
		b.kept("interrupted-"+sig.String(), r)
		at := time.Now()
		_ = r.cmd.Process.Signal(sig)
		r.end()
		r.wants(1, "interrupted")
		r.within(soon, at)
		r.isFilm()
	}
}

// kept waits until the first recording is there and the next under way.
func (b *jigBench) kept(dir string, r *process) {
	b.t.Helper()
	for end := time.Now().Add(15 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if _, err := os.Stat(filepath.Join(b.file(dir), "part-1.json")); err == nil {
			time.Sleep(900 * time.Millisecond)
			return
		}
	}
	b.t.Fatalf("%s: nothing recorded; it said %s", r.line, r.talk.text())
}

const gone = "the device stopped delivering (unplugged, or the sound server ended)"

// testKilledBetween: the server goes during the second record; the first is read.
func testKilledBetween(t *testing.T, b *jigBench) {
	r := b.start(t, b.measureLine("1k")+" --within 20 --json --keep "+b.file("killed"))
	b.kept("killed", r)
	at := time.Now()
	b.server.Kill()
	r.end()
	r.wants(1, gone, "The recordings are kept in")
	r.within(soon, at)
	r.isFilm()
}

// testKilledAtOnce: the first record is cut short before it holds anything.
func testKilledAtOnce(t *testing.T, b *jigBench) {
	r := b.start(t, b.measureLine("1k")+" --json")
	b.recording(r, 150*time.Millisecond)
	at := time.Now()
	b.server.Kill()
	r.end()
	r.wants(1, gone)
	r.within(soon, at)
	if strings.Contains(r.talk.text(), "--level") {
		t.Errorf("the level is blamed: %s", r.talk.text())
	}
}

// testKilledInCalibration: nothing is written, and that is said.
func testKilledInCalibration(t *testing.T, b *jigBench) {
	b.insert("open")
	r := b.start(t, "calibrate --at 1k --load 1k/0.1% --jig "+b.file("jig.toml")+" --out "+b.file("never.json"))
	r.hears("Enter when it is so")
	r.answer("")
	b.recording(r, midway)
	at := time.Now()
	b.server.Kill()
	r.end()
	r.wants(1, gone, "nothing was written")
	r.within(soon, at)
	if _, err := os.Stat(b.file("never.json")); err == nil {
		t.Error("a calibration was written")
	}
}

func testUnplugged(t *testing.T, b *jigBench) {
	r := b.start(t, b.measureLine("1k")+" --json")
	b.recording(r, midway)
	at := time.Now()
	b.server.Unplug(servertest.InputSink)
	r.end()
	r.wants(1, gone)
	r.within(soon, at)
	b.server.Kill() // for whoever comes next
}

// testServerFrozen: a server that sleeps and never wakes. Closing may hang then.
func testServerFrozen(t *testing.T, b *jigBench) {
	r := b.start(t, b.measureLine("1k")+" --json")
	b.recording(r, midway)
	at := time.Now()
	_ = b.server.Signal(syscall.SIGSTOP)
	r.end()
	r.wants(1, gone)
	r.within(soon, at)
	b.server.Kill() // for whoever comes next
}

// testInterruptedWaiting: the first interrupt ends every wait for a server that sleeps,
// long before the wait itself would end.
func testInterruptedWaiting(t *testing.T, b *jigBench) {
	measuring := b.start(t, b.measureLine("1k")+" --json")
	b.recording(measuring, midway)
	_ = b.server.Signal(syscall.SIGSTOP)
	listing := b.start(t, "devices")
	opening := b.start(t, b.measureLine("1k")+" --json")
	time.Sleep(300 * time.Millisecond) // devices waits for 8 s, opening for 2.5 s
	at := time.Now()
	for _, r := range []*process{measuring, listing, opening} {
		_ = r.cmd.Process.Signal(syscall.SIGINT)
	}
	for _, r := range []*process{measuring, listing, opening} {
		r.end()
		r.wants(1, "interrupted")
		r.within(1500*time.Millisecond, at) // on a busy machine
		t.Logf("%.2f s: %s", r.at.Sub(at).Seconds(), r.talk.text())
	}
	b.server.Kill() // for whoever comes next
}

// testNothingLeftBehind looks at the goroutines that runs within this process leave.
func testNothingLeftBehind(t *testing.T, b *jigBench) {
	before := goleak.IgnoreCurrent()
	run := func(ctx context.Context, line string) (int, string) {
		var out, talk bytes.Buffer
		status := cli.Run(ctx, strings.Fields(line), strings.NewReader(""), &out, &talk)
		return status, talk.String()
	}
	if status, talk := run(context.Background(), b.measureLine("1k")); status != 0 {
		t.Errorf("status %d, %s", status, talk)
	}
	if status, talk := run(context.Background(), b.jigFor("other.toml", b.server.Device, "no such card")); status != 1 {
		t.Errorf("status %d, %s", status, talk)
	}
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(700*time.Millisecond, cancel)
	if status, talk := run(ctx, b.measureLine("1k")); status != 1 || !strings.Contains(talk, "interrupted") {
		t.Errorf("status %d, %s", status, talk)
	}
	time.AfterFunc(700*time.Millisecond, b.server.Kill)
	if status, talk := run(context.Background(), b.measureLine("1k")); status != 1 || !strings.Contains(talk, "stopped delivering") {
		t.Errorf("status %d, %s", status, talk)
	}
	goleak.VerifyNone(t, before)
}
