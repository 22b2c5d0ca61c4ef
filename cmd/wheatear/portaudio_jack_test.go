//go:build portaudio && cgo && linux

package main

import (
	"bytes"
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio/portaudio/servertest"
)

// A jig for JACK: the first input hears half the drive, which is the total, the
// second the part of it that is across what is connected, with a gain of its own.
const (
	jackTotal = 0.5
	jackGain  = 1.003
	jackShort = 5e-5 // of the total: 50 mΩ beside a reference of 1 kΩ
)

// jackPart gives the filters of something across which a share of the total is.
func jackPart(share servertest.FirstOrder) []servertest.FirstOrder {
	share.B0, share.B1 = share.B0*jackTotal*jackGain, share.B1*jackTotal*jackGain
	return []servertest.FirstOrder{{B0: jackTotal}, share}
}

var jackParts = map[string]servertest.FirstOrder{
	"open": {B0: 1}, "short": {B0: jackShort}, "load": {B0: 0.5},
	"part": {B0: 0.3, A1: -0.6}, // some capacitor with a resistor
}

// jackImpedance follows from the difference equation of the part's filter.
func jackImpedance(freqHz, rateHz float64) complex128 {
	f := jackParts["part"]
	z := cmplx.Rect(1, -2*math.Pi*freqHz/rateHz)
	share := (complex(f.B0, 0) + complex(f.B1, 0)*z) / (1 + complex(f.A1, 0)*z)
	return 1000 * share / (1 - share)
}

const jackJig = `name = "exact jig"
channels = ["total", "part"]
reference = "1k"
mains = 60
[standards]
open_capacitance = ["0", "0"]
short_resistance = ["0.05", "0"]
short_inductance = ["0", "0"]
load_capacitance = ["0", "0"]
load_inductance = ["0", "0"]
[card]
backend = "portaudio"
input = "JACK: DEVICE"
rate = RATE
seconds = 0.5
`

// jackBench is a folder with jig files for devices of a JACK server.
type jackBench struct {
	*tagged
	dir    string
	server *servertest.JackServer
	jig    *servertest.Process
}

// insert puts another client in the place of the one that was the jig.
func (b *jackBench) insert(what string) {
	if b.jig != nil {
		b.jig.Stop()
	}
	b.jig = b.server.StartJig("jig", jackPart(jackParts[what])...)
}

// jigFor writes the jig file for a device and returns its name.
func (b *jackBench) jigFor(t *testing.T, device, rate string) string {
	t.Helper()
	name := filepath.Join(b.dir, device+rate+".toml")
	text := strings.NewReplacer("DEVICE", device, "RATE", rate).Replace(jackJig)
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return name
}

func (p *tagged) testJack(t *testing.T) {
	b := &jackBench{tagged: p, dir: t.TempDir(), server: servertest.Jack(t, servertest.JackOptions{})}
	b.insert("part")
	t.Run("Exact", b.testExact)
	t.Run("Rate", b.testRate)
	t.Run("OneInput", b.testOneInput)
	t.Run("Silence", b.testSilence)
	t.Run("JigGone", b.testJigGone)
	t.Run("Killed", b.testKilled)
}

// testExact: not a sample is lost or moved on the way, so the reading is right to
// what 32 bits can tell, and the same to the last digit when all is done again.
func (b *jackBench) testExact(t *testing.T) {
	// float32 keeps a sample to 2^-25; the rest is room for short and share
	const tolerance = 1e-6
	at := []float64{100, 1000, 10000}
	first, second := b.exactRun(t), b.exactRun(t)
	if !bytes.Equal(undated(first), undated(second)) {
		t.Errorf("two runs differ:\n%s\n%s", first, second)
	}
	var doc measured
	if err := json.Unmarshal(first, &doc); err != nil || len(doc.Readings) != len(at) {
		t.Fatalf("%v: %s", err, first)
	}
	for i, r := range doc.Readings {
		if r.Z.Re == nil || r.Z.Im == nil {
			t.Fatalf("no reading: %s", first)
		}
		got, want := complex(*r.Z.Re.Value, *r.Z.Im.Value), jackImpedance(at[i], 48000)
		off := cmplx.Abs(got-want) / cmplx.Abs(want)
		t.Logf("%g Hz: %.9g ohm, truth %.9g ohm, off by %.1e", at[i], got, want, off)
		if !(off < tolerance) {
			t.Errorf("%g Hz: off by %.1e, want %.0e", at[i], off, tolerance)
		}
	}
}

// undated leaves out when the calibration was made.
func undated(doc []byte) []byte {
	return regexp.MustCompile(`"date": "[^"]*"`).ReplaceAll(doc, nil)
}

// exactRun calibrates and measures, and returns what measure printed. A machine too
// busy for sound loses samples, which is told, and then it is done again.
func (b *jackBench) exactRun(t *testing.T) []byte {
	t.Helper()
	for range 8 {
		if out, whole := b.tryExactRun(t); whole {
			return out
		}
	}
	t.Fatal("samples were lost in each of eight runs")
	return nil
}

func (b *jackBench) tryExactRun(t *testing.T) (out []byte, whole bool) {
	t.Helper()
	jig, cal := b.jigFor(t, "jig", "48000"), filepath.Join(b.dir, "cal.json")
	b.insert("open")
	r := b.start(t, "calibrate --at 100,1k,10k --load 1k/1ppm --jig "+jig+" --out "+cal)
	for _, part := range []string{"open", "short", "load"} {
		r.hears("Enter when it is so")
		b.insert(part)
		r.answer("")
	}
	r.in.Close() // where a standard is refused, it would ask for it again
	r.end()
	if r.lost() {
		return nil, false
	}
	r.wants(0)
	b.insert("part")
	m := b.run(t, "measure --at 100,1k,10k --json --jig "+jig+" --calibration "+cal)
	if m.lost() {
		return nil, false
	}
	m.wants(0)
	return m.out.Bytes(), true
}

// lost reports whether the program says that samples were lost.
func (r *process) lost() bool {
	said := r.out.String() + r.talk.text()
	if !strings.Contains(said, "dropout") && !strings.Contains(said, "overflow") {
		return false
	}
	r.t.Logf("samples were lost: %s", said)
	return true
}

// testRate: here a rate that the device lacks is refused, not converted.
func (b *jackBench) testRate(t *testing.T) {
	began := time.Now()
	r := b.run(t, "measure --at 1k --jig "+b.jigFor(t, "jig", "44100"))
	r.wants(1, "44100 Hz; the device accepts 48000 Hz")
	r.within(soon, began)
}

func (b *jackBench) testOneInput(t *testing.T) {
	narrow := b.server.StartJig("narrow", servertest.FirstOrder{B0: 0.5})
	defer narrow.Stop()
	began := time.Now()
	r := b.run(t, "measure --at 1k --jig "+b.jigFor(t, "narrow", "48000"))
	r.wants(1, "narrow has 1 input, and input 2 is asked for")
	r.within(soon, began)
	r = b.run(t, "devices")
	r.wants(0)
	if out := r.out.String(); !strings.Contains(out, "  narrow ") || strings.Contains(out, `input = "JACK Audio Connection Kit: narrow"`) {
		t.Errorf("a device of one input is not listed, or suggested: %s", out)
	}
}

// testSilence: a card that hears exact zeros, as one without permission does.
func (b *jackBench) testSilence(t *testing.T) {
	began := time.Now()
	r := b.run(t, "measure --at 1k --json --jig "+b.jigFor(t, "system", "48000"))
	r.wants(3)
	r.within(soon+2*time.Second, began) // there is a record to be made first
	if detail := r.found("no-signal"); !strings.Contains(detail, "digital silence") {
		t.Errorf("the detail is %q", detail)
	}
}

// testJigGone: the device goes while the server stays. Its record goes on with zeros,
// and the next one cannot begin: whichever is met first is told, and the record from
// before is kept.
func (b *jackBench) testJigGone(t *testing.T) {
	for _, after := range []time.Duration{100 * time.Millisecond, 500 * time.Millisecond} {
		r := b.second(t, "gone-after-"+after.String(), after)
		at := time.Now()
		b.jig.Kill()
		r.end()
		r.wants(1, "The recordings are kept in", "part-1.wav")
		r.within(soon, at)
		said := strings.Join(strings.Fields(r.talk.text()), " ")
		if !strings.Contains(said, "the device stopped delivering") && !strings.Contains(said, "the record before it can") {
			t.Errorf("what happened is not told: %s", said)
		}
		b.insert("part")
	}
}

// testKilled: the library below may never return once its server was killed, or end
// the process; the program must do neither.
func (b *jackBench) testKilled(t *testing.T) {
	r := b.second(t, "killed", 500*time.Millisecond)
	at := time.Now()
	b.server.Kill()
	r.end()
	r.wants(1, gone)
	r.within(soon, at)
	if doc := r.json(); len(doc.Readings) != 1 || !doc.Readings[0].Trusted {
		t.Errorf("what was recorded before is not read: %s", r.out.String())
	}
}

// second starts to measure, and returns a while after the first recording was kept.
func (b *jackBench) second(t *testing.T, dir string, after time.Duration) *process {
	t.Helper()
	keep := filepath.Join(b.dir, dir)
	r := b.start(t, "measure --at 1k --json --within 20 --keep "+keep+" --jig "+b.jigFor(t, "jig", "48000"))
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if _, err := os.Stat(filepath.Join(keep, "part-1.json")); err == nil {
			time.Sleep(after)
			return r
		}
	}
	t.Fatalf("%s: nothing recorded; it said %s", r.line, r.talk.text())
	return nil
}

// testNoServer: nothing to be found, as in a container: no card, no server, and no
// settings of anybody.
func (p *tagged) testNoServer(t *testing.T) {
	if _, err := os.Stat("/dev/snd"); err == nil {
		t.Skip("this machine has a sound card")
	}
	dir := t.TempDir()
	bare := func(line string, env ...string) *process {
		t.Helper()
		r := &process{t: t, line: line, cmd: exec.Command(p.path, strings.Fields(line)...), ended: make(chan struct{})}
		r.cmd.Env, r.cmd.Dir = append(env, "PATH="+os.Getenv("PATH"), "HOME="+dir), dir
		r.cmd.Stdout, r.cmd.Stderr = &r.out, &r.talk
		r.launch()
		r.end()
		return r
	}
	r := bare("devices --json")
	r.wants(0, "the system shows no sound device at all")
	var doc struct{ Devices []any }
	if err := json.Unmarshal(r.out.Bytes(), &doc); err != nil || doc.Devices == nil || len(doc.Devices) > 0 {
		t.Errorf("%v: %s", err, r.out.String())
	}
	if n := strings.Count(r.talk.text(), "\n"); n > 5 {
		t.Errorf("%d lines: %s", n, r.talk.text())
	}
	bare("devices").wants(1, "no sound device at all")
	bare("devices", "ALSA_CONFIG_PATH="+dir+"/none").wants(1, "the system's sound configuration is missing", "Debian: apt install libasound2-data")

	if err := os.WriteFile(filepath.Join(dir, "jig.toml"), []byte(plainJig("any")), 0o666); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	r = bare("measure --jig jig.toml --at 1k")
	r.wants(1, "no sound device at all")
	r.within(soon, began)
	bare("stimulus --at 1k --seconds 1 --out tone.wav").wants(0)
	bare("demodulate --recording tone.wav").wants(0)
}
