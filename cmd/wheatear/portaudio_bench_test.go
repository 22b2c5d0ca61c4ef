//go:build portaudio && cgo && linux

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"example.org/wheatear/audio/portaudio/servertest"
)

// jigBench is a folder with a jig file and a tray, and the jig between the sinks of a
// server.
type jigBench struct {
	*tagged
	t      *testing.T
	server *servertest.PulseServer
	dir    string
	seed   uint64
	put    int // how often something was put in
	jig    *servertest.Jig
}

// newJigBench writes the files.
func (p *tagged) newJigBench(t *testing.T, s *servertest.PulseServer, seed uint64, jig, tray string) *jigBench {
	t.Helper()
	b := &jigBench{tagged: p, t: t, server: s, dir: t.TempDir(), seed: seed}
	b.write("jig.toml", jig)
	b.write("tray.toml", tray)
	return b
}

func (b *jigBench) write(name, text string) {
	b.t.Helper()
	if err := os.WriteFile(b.file(name), []byte(text), 0o666); err != nil {
		b.t.Fatal(err)
	}
}

func (b *jigBench) file(name string) string { return filepath.Join(b.dir, name) }

// insert puts a part in the place of what was there: another process.
func (b *jigBench) insert(name string) {
	b.t.Helper()
	if b.jig != nil {
		b.jig.Stop()
	}
	b.put++
	b.jig = b.server.StartJig(48000, nil, b.path, "simulate", "--tray", b.file("tray.toml"), "--part", name,
		"--seed", fmt.Sprint(b.seed*1000+uint64(b.put)))
}

// calibrate goes through the prompts, as a person would.
func (b *jigBench) calibrate(at, load string) {
	b.t.Helper()
	r := b.start(b.t, "calibrate --jig "+b.file("jig.toml")+" --at "+at+" --load "+load+" --out "+b.file("cal.json"))
	for _, standard := range []struct{ prompt, part string }{{"OPEN: ", "open"}, {"SHORT: ", "short"}, {"LOAD: ", "load"}} {
		r.hears(standard.prompt)
		r.hears("Enter when it is so")
		b.insert(standard.part)
		r.answer("")
	}
	r.end()
	r.wants(0, "Written to")
}

// measureLine is the command that measures what is in the jig.
func (b *jigBench) measureLine(at string) string {
	return "measure --jig " + b.file("jig.toml") + " --calibration " + b.file("cal.json") + " --at " + at
}
