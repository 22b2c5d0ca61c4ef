//go:build portaudio && cgo && linux

package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math/cmplx"
	"net/http"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/wheatear/audio/portaudio/servertest"
)

// servedPage is a page of the program with a real card behind it.
type servedPage struct {
	*jigBench
	run *process
	url string
}

// serve starts the page, with the cautions confirmed and the jig chosen.
func (b *jigBench) serve() *servedPage {
	b.t.Helper()
	s := &servedPage{jigBench: b}
	s.run = b.start(b.t, "serve --listen 127.0.0.1:0 --jig "+b.file("jig.toml")+" --folder "+b.file("bench"))
	s.run.hears("ends it")
	s.url = regexp.MustCompile(`http://[0-9.:]+`).FindString(s.run.talk.text())
	s.post("cautions", `{}`)
	for _, j := range s.state().Jigs {
		if !j.Simulated {
			s.post("jig", `{"key": "`+j.Key+`"}`)
		}
	}
	return s
}

// pageState is what these tests look at.
type pageState struct {
	Jigs []struct {
		Key       string
		Simulated bool
	}
	Owner       *struct{ Kind string }
	Calibration *struct{ Standards []string }
	Guide       *struct {
		Steps []struct {
			State   string
			Refused []struct{ Code, Detail string }
		}
	}
	Notice *struct {
		Text string
		Bad  bool
	}
}

// pageUpdate is a live reading.
type pageUpdate struct {
	N      int64
	Sheet  struct{ Trusted bool }
	Doubts []struct{ Code, Detail string }
	RawOhm *float64 `json:"raw_ohm"`
}

func (s *servedPage) state() (st pageState) {
	s.t.Helper()
	s.get("state", &st)
	return st
}

func (s *servedPage) get(path string, v any) {
	s.t.Helper()
	if status := s.ask("GET", path, "", v); status != http.StatusOK {
		s.t.Fatalf("GET %s: %d; the page says %+v", path, status, s.state().Notice)
	}
}

func (s *servedPage) post(path, body string) string {
	s.t.Helper()
	var answer json.RawMessage
	if status := s.ask("POST", path, body, &answer); status != http.StatusOK {
		s.t.Fatalf("POST %s: %d %s; the program said %s", path, status, answer, s.run.talk.text())
	}
	return string(answer)
}

func (s *servedPage) ask(method, path, body string, v any) int {
	s.t.Helper()
	req, err := http.NewRequest(method, s.url+"/api/"+path, strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	resp, err := (&http.Client{Timeout: mostTime}).Do(req)
	if err != nil {
		s.t.Fatalf("%s %s: %v; the program said %s", method, path, err, s.run.talk.text())
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err == nil {
		err = json.Unmarshal(text, v)
	}
	if err != nil {
		s.t.Fatalf("%s %s: %v: %s", method, path, err, text)
	}
	return resp.StatusCode
}

// until waits for a state.
func (s *servedPage) until(what string, so func(pageState) bool) pageState {
	s.t.Helper()
	for end := time.Now().Add(15 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		st := s.state()
		if so(st) {
			return st
		}
		if time.Now().After(end) {
			s.t.Fatalf("waited in vain until %s: %+v, notice %+v; the program said %s", what, st, st.Notice, s.run.talk.text())
		}
	}
}

// seen waits for a live reading that is as wanted.
func (s *servedPage) seen(what string, so func(pageUpdate) bool) {
	s.t.Helper()
	u := pageUpdate{}
	for end := time.Now().Add(15 * time.Second); time.Now().Before(end); {
		after := u.N
		u = pageUpdate{}
		s.get(fmt.Sprintf("live?after=%d", after), &u)
		if so(u) {
			return
		}
	}
	s.t.Fatalf("waited in vain until %s: %+v", what, u)
}

// calibrate goes through the standards as a person at the page does.
func (s *servedPage) calibrate() {
	s.t.Helper()
	s.post("calibration", `{"at": "1k", "loads": ["1k/0.1%"]}`)
	for i, standard := range []string{"open", "short", "load"} {
		s.insert(standard)
		ohm := []func(float64) bool{
			func(z float64) bool { return z > 1e4 },
			func(z float64) bool { return z < 2 },
			func(z float64) bool { return z > 800 && z < 1200 },
		}[i]
		s.seen(standard+" is seen", func(u pageUpdate) bool {
			return len(u.Doubts) == 0 && u.Sheet.Trusted && u.RawOhm != nil && ohm(*u.RawOhm)
		})
		s.post("calibration/record", `{}`)
		st := s.until(standard+" is judged", func(st pageState) bool {
			return st.Guide == nil || st.Guide.Steps[i].State == "recorded" || len(st.Guide.Steps[i].Refused) > 0
		})
		if st.Guide != nil && st.Guide.Steps[i].State != "recorded" {
			s.t.Fatalf("%s: refused: %+v", standard, st.Guide.Steps[i].Refused)
		}
	}
	s.until("it is calibrated", func(st pageState) bool { return st.Calibration != nil && st.Owner == nil })
}

// testServe measures from the page, lets the server go meanwhile, and measures again.
func (p *tagged) testServe(t *testing.T) {
	server := servertest.Pulse(t, servertest.PulseOptions{})
	b := p.newJigBench(t, server, 7, plainJig(server.Device), filmTray)
	b.insert("short")
	s := b.serve()
	t.Run("WrongStandard", s.testWrongStandard)
	s.calibrate()
	s.insert("film")
	t.Run("Reading", s.testReading)
	t.Run("JigFrozen", s.testJigFrozen)
	t.Run("ServerKilled", s.testServerKilled)
	if err := s.run.cmd.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	s.run.end()
	s.run.wants(0)
}

// testWrongStandard: a short in the place of the open is refused, with a reason.
func (s *servedPage) testWrongStandard(t *testing.T) {
	s.post("calibration", `{"at": "1k", "loads": []}`)
	s.seen("the short is doubted", func(u pageUpdate) bool { return len(u.Doubts) > 0 && u.Doubts[0].Code == "jig-changed" })
	s.post("calibration/record", `{}`)
	st := s.until("it is refused", func(st pageState) bool { return len(st.Guide.Steps[0].Refused) > 0 })
	if why := st.Guide.Steps[0].Refused[0].Detail; !strings.Contains(why, "the open reads") {
		t.Errorf("refused with %q", why)
	}
	s.post("calibration/drop", `{}`)
}

// testReading: the live reading keeps its pace for some seconds, across the change of
// streams too, and a kept reading holds the truth.
func (s *servedPage) testReading(t *testing.T) {
	s.post("live", `{"at": "1k", "part": "film"}`)
	s.seen("it reads", func(u pageUpdate) bool { return u.Sheet.Trusted })
	first, last := pageUpdate{}, pageUpdate{}
	s.get("live", &first)
	began := time.Now()
	untrusted := 0
	for last = first; time.Since(began) < 3*time.Second; {
		s.get(fmt.Sprintf("live?after=%d", last.N), &last)
		if !last.Sheet.Trusted {
			untrusted++
		}
	}
	pace := float64(last.N-first.N) / time.Since(began).Seconds()
	t.Logf("%.1f readings a second, %d not to be trusted", pace, untrusted)
	if pace < 2 || pace > 13 { // the lower one is for a busy computer
		t.Errorf("%.1f readings a second, want ten", pace)
	}
	s.isFilm(t)
	s.until("it reads again", func(st pageState) bool { return st.Owner != nil && st.Owner.Kind == "live reading" })
	s.post("stop", `{}`)
	if st := s.state(); st.Owner != nil || st.Notice != nil && st.Notice.Bad {
		t.Errorf("after the end: %+v, notice %+v", st.Owner, st.Notice)
	}
}

// isFilm keeps a reading; the truth is in its interval.
func (s *servedPage) isFilm(t *testing.T) {
	t.Helper()
	var kept []struct {
		Measure struct {
			Readings []struct {
				Hz struct{ Value float64 } `json:"frequency_hz"`
				Z  struct {
					Modulus struct{ Value, Low, High float64 } `json:"modulus_ohm"`
				}
			}
		}
	}
	text := s.post("readings", `{"at": "1k", "part": "film"}`)
	if err := json.Unmarshal([]byte(text), &kept); err != nil || len(kept) != 1 || len(kept[0].Measure.Readings) != 1 {
		t.Fatalf("kept: %v: %s", err, text)
	}
	r := kept[0].Measure.Readings[0]
	want := cmplx.Abs(film.impedance(r.Hz.Value))
	if got := r.Z.Modulus; !(got.Low <= want && want <= got.High) {
		t.Errorf("|Z| = %g, from %g to %g; true %g", got.Value, got.Low, got.High, want)
	}
}

// testJigFrozen: what goes missing meanwhile makes readings that are not to be trusted,
// and the live reading goes on.
func (s *servedPage) testJigFrozen(t *testing.T) {
	s.post("live", `{"at": "1k", "part": "film"}`)
	s.seen("it reads", func(u pageUpdate) bool { return u.Sheet.Trusted })
	s.jig.Freeze(400 * time.Millisecond)
	s.seen("the break is seen", func(u pageUpdate) bool { return !u.Sheet.Trusted })
	s.seen("it reads again", func(u pageUpdate) bool { return u.Sheet.Trusted })
	s.post("stop", `{}`)
}

// testServerKilled: that the device went is said on the page, and when it is back one
// reads on from the same page.
func (s *servedPage) testServerKilled(t *testing.T) {
	s.post("live", `{"at": "1k", "part": "film"}`)
	s.seen("it reads", func(u pageUpdate) bool { return u.Sheet.Trusted })
	at := time.Now()
	s.server.Kill()
	st := s.until("the end is told", func(st pageState) bool { return st.Owner == nil && st.Notice != nil })
	if took := time.Since(at); took > slack*soon {
		t.Errorf("it took %v to be told", took)
	}
	if !st.Notice.Bad || !strings.Contains(st.Notice.Text, gone) {
		t.Errorf("the page says %+v", st.Notice)
	}
	s.post("live", `{"at": "1k", "part": "film"}`)
	st = s.until("it is told that there is no card", func(st pageState) bool { return st.Owner == nil && st.Notice != nil })
	if !strings.Contains(st.Notice.Text, "no sound device") {
		t.Errorf("without a server the page says %+v", st.Notice)
	}
	s.revive()
	s.isFilm(t)
}
