package live

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/audio/portaudio"
)

func TestOpen(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("tray.toml", "[[part]]\nname = \"r47\"\ncircuit = \"R 47\"\n")
	write("bad.toml", "[[part]]\nname = \"r47\"\ncolour = \"red\"\n")
	head := "channels = [\"total\", \"part\"]\nreference = \"1k\"\n"
	cases := []struct{ name, jig, want string }{
		{"simulated", head + "[card]\nbackend = \"virtual\"\n", ""},
		{"with parts", head + "[card]\nbackend = \"virtual\"\n[virtual]\ntray = \"tray.toml\"\n", ""},
		{"no backend", head, "names no card backend"},
		{"no tray", head + "[card]\nbackend = \"virtual\"\n[virtual]\ntray = \"lost.toml\"\n", "lost.toml"},
		{"bad tray", head + "[card]\nbackend = \"virtual\"\n[virtual]\ntray = \"bad.toml\"\n", "bad.toml:3: part.colour"},
		{"third input", head + "inputs = [1, 3]\n[card]\nbackend = \"virtual\"\n", "input 3 of the simulated card"},
		{"no device", head + "[card]\nbackend = \"portaudio\"\ninput = \"surely not there\"\n", "surely not there"},
	}
	for _, c := range cases {
		s, err := Open(context.Background(), Options{Jig: parseJig(t, c.jig), Dir: dir})
		if c.want != "" {
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s: %v, want %q", c.name, err, c.want)
			}
			continue
		}
		if err != nil || !s.Simulated() || s.Card() != "virtual: simulated jig" || s.Close() != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if _, err := Open(context.Background(), Options{Jig: parseJig(t, head)}); !errors.Is(err, ErrNoBackend) {
		t.Errorf("%v", err)
	}
}

// The inputs of the simulated card are those that the jig file names.
func TestOpenExchangedInputs(t *testing.T) {
	jig := parseJig(t, strings.Replace(jigText, `channels = ["total", "part"]`, "channels = [\"part\", \"total\"]\ninputs = [2, 1]", 1))
	s, err := Open(context.Background(), Options{Jig: jig})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Put("short"); err != nil {
		t.Fatal(err)
	}
	take, err := s.Take(context.Background(), Subject{Role: "short"}, plan(t, s, 1000))
	if err != nil {
		t.Fatal(err)
	}
	if doubts, err := s.Doubts(take, []float64{1000}); err != nil || len(doubts) > 0 {
		t.Errorf("%v, %v", err, doubts)
	}
	if p := take.Observation.Analysis.Peak; !(p[0] < p[1]/100) {
		t.Errorf("peaks %v: the part, shorted, comes first", p)
	}
}

func TestServing(t *testing.T) {
	dev := func(n int, api, name string, in, out int) portaudio.Device {
		return portaudio.Device{Number: n, API: api, Name: name, Inputs: in, Outputs: out, RatesHz: []float64{44100, 48000}}
	}
	cases := []struct {
		name    string
		devices []portaudio.Device
		in, out int
		why     string
	}{
		{"nothing", nil, -1, -1, ""},
		{"one input", []portaudio.Device{dev(0, "ALSA", "mic (hw:0,0)", 1, 0), dev(1, "ALSA", "out (hw:1,0)", 0, 2)}, -1, -1, ""},
		{"no output", []portaudio.Device{dev(0, "ALSA", "mic (hw:0,0)", 2, 0)}, -1, -1, ""},
		{"one clock before hardware", []portaudio.Device{dev(0, "ALSA", "a (hw:0,0)", 2, 0), dev(1, "ALSA", "b (hw:1,0)", 0, 2), dev(2, "ALSA", "pulse", 8, 8)}, 2, 2, "one clock"},
		{"hardware before mixer", []portaudio.Device{dev(0, "ALSA", "pulse", 8, 8), dev(1, "ALSA", "USB (hw:1,0)", 2, 2)}, 1, 1, "straight to the hardware"},
		{"a name before the default", []portaudio.Device{dev(0, "ALSA", "default", 32, 32), dev(1, "ALSA", "bench", 2, 2)}, 1, 1, "volume to 100 %"},
		{"the default alone", []portaudio.Device{dev(0, "ALSA", "default", 32, 32)}, 0, 0, "when the system's default changes"},
		{"two devices", []portaudio.Device{dev(0, "ALSA", "in (hw:0,0)", 2, 0), dev(1, "ALSA", "out (hw:1,0)", 0, 2)}, 0, 1, "clock is apart"},
		{"two families", []portaudio.Device{dev(0, "ALSA", "in (hw:0,0)", 2, 0), dev(1, "JACK", "system", 0, 2)}, 0, 1, "another family"},
	}
	for _, c := range cases {
		p := Serving(c.devices)
		if p == nil {
			if c.in >= 0 {
				t.Errorf("%s: none", c.name)
			}
			continue
		}
		if p.Input.Number != c.in || p.Output.Number != c.out || !strings.Contains(p.Why, c.why) {
			t.Errorf("%s: %d and %d: %s", c.name, p.Input.Number, p.Output.Number, p.Why)
		}
	}
}
