//go:build portaudio && cgo && linux

package main

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/wheatear/audio/portaudio/servertest"
)

// film is what all these tests measure.
var film = bulk{"film", 3, 220e-9, 10e-9, false}

// plainJig is a jig file for a device; the tray beside it is filmTray.
func plainJig(device string) string {
	return "name = \"plain jig\"\nchannels = [\"total\", \"part\"]\nreference = \"1k\"\nreference_tolerance = \"0.1%\"\nmains = 60\n" +
		"[card]\nbackend = \"portaudio\"\ninput = \"" + device + "\"\n"
}

const filmTray = `
[[part]]
name = "film"
circuit = "R 3 + C 220n + L 10n"
[faults]
noise = [4e-6, 4e-6]
gain = [0, 0.004]
delay_samples = [0, 0.2]
bits = 24
`

// startFilm is a bench that is calibrated, with the part in its jig.
func (p *tagged) startFilm(t *testing.T, s *servertest.PulseServer) *jigBench {
	t.Helper()
	b := p.newJigBench(t, s, 1, plainJig(s.Device), filmTray)
	b.calibrate("1k", "1k/0.1%")
	b.insert("film")
	return b
}

// testFailures lets things go wrong under the program.
func (p *tagged) testFailures(t *testing.T) {
	s := servertest.Pulse(t, servertest.PulseOptions{})
	b := p.startFilm(t, s)
	for _, c := range []struct {
		name string
		test func(t *testing.T, b *jigBench)
	}{
		{"NoSuchDevice", testNoSuchDevice}, {"AmbiguousDevice", testAmbiguousDevice}, {"EachByName", testEachByName},
		{"JigFrozen", testJigFrozen}, {"OwnStall", testOwnStall}, {"Busy", testBusy}, {"Volume", testVolume}, {"Interrupted", testInterrupted},
		{"MovedAway", testMovedAway}, {"NothingLeftBehind", testNothingLeftBehind},
		{"KilledBetween", testKilledBetween}, {"KilledAtOnce", testKilledAtOnce}, {"KilledInCalibration", testKilledInCalibration},
		{"Unplugged", testUnplugged}, {"ServerFrozen", testServerFrozen}, {"InterruptedWaiting", testInterruptedWaiting},
	} {
		t.Run(c.name, func(t *testing.T) {
			mine := *b
			mine.t = t
			if !s.Running() {
				mine.revive()
			}
			c.test(t, &mine)
			b.jig, b.put = mine.jig, mine.put
		})
	}
	t.Run("Mono", p.testMono)
	t.Run("Converted", p.testConverted)
}

// revive starts the server again, and the jig.
func (b *jigBench) revive() {
	b.t.Helper()
	b.jig.Stop()
	b.jig = nil
	b.server.Restart()
	b.insert("film")
}

// jigFor writes another jig file, with words replaced, and returns the command that
// measures with it.
func (b *jigBench) jigFor(name string, oldnew ...string) string {
	b.t.Helper()
	b.write(name, strings.NewReplacer(oldnew...).Replace(plainJig(b.server.Device)))
	return "measure --at 1k --jig " + b.file(name)
}

func testNoSuchDevice(t *testing.T, b *jigBench) {
	began := time.Now()
	r := b.run(t, b.jigFor("other.toml", b.server.Device, "no such card"))
	r.wants(1, `no input device is called "no such card"; there are`, b.server.Device)
	r.within(soon, began)
}

func testAmbiguousDevice(t *testing.T, b *jigBench) {
	began := time.Now()
	r := b.run(t, b.jigFor("other.toml", b.server.Device, "wheatear"))
	r.wants(1, `"wheatear" fits 3 input devices; give more of the name`, b.server.Device, b.server.Spare)
	r.within(soon, began)
}

// testEachByName: part of a name is enough where it fits one device alone. This one
// hears what it plays on both inputs.
func testEachByName(t *testing.T, b *jigBench) {
	r := b.run(t, b.jigFor("other.toml", b.server.Device, "SPARE"), "--json")
	r.wants(3)
	r.found("mono")
}

// recording waits until the program records for a while.
func (b *jigBench) recording(r *process, d time.Duration) {
	b.t.Helper()
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		list, err := b.server.Pactl("list", "short", "source-outputs")
		if err != nil {
			b.t.Fatal(err)
		}
		if strings.Count(list, "\n") == 2 { // the jig listens, too
			break
		}
		if time.Now().After(end) {
			b.t.Fatalf("%s: does not record: %q; it said %s", r.line, list, r.talk.text())
		}
	}
	time.Sleep(d)
}

// midway is when the tone has been heard for a while, see the latency of the server.
const midway = 1000 * time.Millisecond

// testJigFrozen: there are zeros in the record and no word of it from the driver.
func testJigFrozen(t *testing.T, b *jigBench) {
	r := b.start(t, b.measureLine("1k")+" --json")
	b.recording(r, midway)
	b.jig.Freeze(300 * time.Millisecond)
	r.dropout(time.Now())
	if r.status == 0 && !strings.Contains(r.talk.text(), "once more") {
		r.found("dropout") // for the sound part of the record was long enough
	}
}

// dropout wants a break to be told in time, or to have done no harm; and never a
// wrong reading.
func (r *process) dropout(since time.Time) {
	r.t.Helper()
	told := false
	for !told && time.Since(since) < slack*soon {
		select {
		case <-r.ended:
			told = true
		case <-time.After(10 * time.Millisecond):
			told = strings.Contains(r.talk.text(), "once more")
		}
	}
	if !told {
		r.t.Errorf("%s: no word after %v", r.line, slack*soon)
	}
	r.end()
	r.t.Logf("status %d after %.1f s; %s", r.status, r.at.Sub(since).Seconds(), r.talk.text())
	switch r.status {
	case 0:
		r.isFilm()
	case 3:
		r.found("dropout")
	default:
		r.t.Errorf("%s: status %d; it said %s", r.line, r.status, r.talk.text())
	}
}

// json reads what the run printed.
func (r *process) json() (doc measured) {
	r.t.Helper()
	if err := json.Unmarshal(r.out.Bytes(), &doc); err != nil {
		r.t.Errorf("%s: %v: %s; it said %s", r.line, err, r.out.String(), r.talk.text())
	}
	return doc
}

// isFilm wants a right reading of the part.
func (r *process) isFilm() {
	r.t.Helper()
	doc := r.json()
	if len(doc.Readings) != 1 || !doc.Readings[0].Trusted {
		r.t.Errorf("%s: %s", r.line, r.out.String())
		return
	}
	for _, s := range film.score(doc.Readings[0]) {
		if !(s.errorU() < mostErrorU) || s.u > 0.02*math.Hypot(s.truth, 700) {
			r.t.Errorf("%s: %g ± %g ohm, truth %g", s.name, s.value, s.u, s.truth)
		}
	}
}

// found wants a finding.
func (r *process) found(code string) (detail string) {
	r.t.Helper()
	doc := r.json()
	i := slices.IndexFunc(doc.Findings, func(f finding) bool { return f.Code == code })
	if i < 0 {
		r.t.Errorf("%s: no %s among %+v", r.line, code, doc.Findings)
		return ""
	}
	return doc.Findings[i].Detail
}

// testOwnStall: a process that was stopped itself misses nothing, or says what.
func testOwnStall(t *testing.T, b *jigBench) {
	r := b.start(t, b.measureLine("1k")+" --json")
	b.recording(r, midway)
	_ = r.cmd.Process.Signal(syscall.SIGSTOP)
	time.Sleep(300 * time.Millisecond)
	_ = r.cmd.Process.Signal(syscall.SIGCONT)
	r.dropout(time.Now())
}

// testBusy: a machine with better things to do may lose samples, never the truth.
func testBusy(t *testing.T, b *jigBench) {
	stop := make(chan struct{})
	defer close(stop)
	for range 4 {
		go func() {
			for kept := [][]byte{}; ; kept = append(kept[max(0, len(kept)-100):], make([]byte, 1<<16)) {
				select {
				case <-stop:
					return
				default:
				}
			}
		}()
	}
	r := b.start(t, b.measureLine("1k")+" --json")
	r.end()
	if r.status != 0 {
		r.wants(3)
		r.found("dropout")
		return
	}
	r.isFilm()
}

// testVolume: a volume that both inputs share changes nothing; one of their own is
// met by the standards.
func testVolume(t *testing.T, b *jigBench) {
	volume := func(values ...string) {
		t.Helper()
		if _, err := b.server.Pactl(append([]string{"set-source-volume", servertest.InputSink + ".monitor"}, values...)...); err != nil {
			t.Fatal(err)
		}
	}
	defer volume("100%", "100%")
	volume("50%") // an eighth: the scale is cubic
	r := b.run(t, b.measureLine("1k")+" --json")
	r.wants(0)
	r.isFilm()
	r.found("jig-changed") // a warning: one reading cannot tell it from a volume of one input

	volume("100%", "80%")
	b.insert("open")
	r = b.start(t, "calibrate --json --at 1k --load 1k/0.1% --jig "+b.file("jig.toml")+" --out "+b.file("never.json"))
	r.hears("Enter when it is so")
	r.answer("")
	r.hears("Refused")
	r.hears("Enter when it is so")
	r.answer("q")
	r.end()
	r.wants(3, "jig-changed")
	r.found("jig-changed")
	if _, err := os.Stat(b.file("never.json")); err == nil {
		t.Error("a calibration was written")
	}
	b.insert("film")
}

// testMovedAway: a program on the default device goes along when the default
// changes, and is not told. The rest of the record is another one.
func testMovedAway(t *testing.T, b *jigBench) {
	pactl := func(args ...string) {
		t.Helper()
		if _, err := b.server.Pactl(args...); err != nil {
			t.Fatal(err)
		}
	}
	pactl("set-default-sink", servertest.OutputSink)
	pactl("set-default-source", servertest.InputSink+".monitor")
	line := b.jigFor("default.toml", b.server.Device, "default")
	r := b.start(t, line+" --calibration "+b.file("cal.json")+" --json")
	b.recording(r, midway)
	pactl("set-default-source", "park.monitor")
	r.end()
	pactl("set-default-sink", "park")
	t.Logf("status %d; %s", r.status, r.talk.text())
	if r.status == 0 {
		r.isFilm() // enough had been recorded
		return
	}
	r.wants(3)
	for _, reading := range r.json().Readings {
		if reading.Trusted {
			t.Errorf("a reading is trusted: %s", r.out.String())
		}
	}
}

// testMono: a source of one channel gives its signal twice.
func (p *tagged) testMono(t *testing.T) {
	s := servertest.Pulse(t, servertest.PulseOptions{InputChannels: 1})
	b := p.newJigBench(t, s, 1, plainJig(s.Device), filmTray)
	b.insert("film")
	began := time.Now()
	r := b.run(t, "measure --at 1k --json --jig "+b.file("jig.toml"))
	r.wants(3)
	t.Logf("%.1f s: %s", r.at.Sub(began).Seconds(), r.found("mono"))
}

// testConverted: a server at another rate converts without a word; the record tells.
func (p *tagged) testConverted(t *testing.T) {
	s := servertest.Pulse(t, servertest.PulseOptions{RateHz: 44100})
	b := p.startFilm(t, s)
	r := b.run(t, b.measureLine("1k")+" --json")
	r.wants(0)
	r.isFilm()
	r.found("resampled")
}
