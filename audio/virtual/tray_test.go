package virtual

import (
	"errors"
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"
)

// Every key of the file arrives where it belongs.
func TestParseTray(t *testing.T) {
	data, err := os.ReadFile("testdata/tray.toml")
	if err != nil {
		t.Fatal(err)
	}
	got, err := ParseTray("tray.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	parts := []Part{
		{Name: "film", Circuit: "R 100k // (C 1u + R 0.2 + L 15n)", Note: "a film capacitor with a resistor beside it"},
		{Name: "diode", Junctions: []Junction{{SaturationA: 4e-9, Emission: 1.85, SeriesOhm: 0.6, Farad: 3e-12}}},
		{Name: "rail", Circuit: "C 220u + R 45m", Junctions: []Junction{{Count: 3, SeriesOhm: 68}, {Reverse: true}}},
		{Name: "class 2", Ceramics: []Ceramic{{10e-6, 3, 10e-3, 0.8e-9, 500e6}}},
		{Name: "iron core", Cores: []Core{{0.18, 0.26e-3, 22, 50e3, 80e-12}}},
		{Name: "rough electrode", ConstantPhase: []ConstantPhase{{1e-6, 0.8, 10}}},
	}
	if !reflect.DeepEqual(got.Parts, parts) {
		t.Errorf("parts\n%+v, want\n%+v", got.Parts, parts)
	}
	jig := Jig{
		Channels:     [2]string{"total", "reference"},
		ReferenceOhm: 1000.6, ReferenceFarad: 0.5e-12, ReferenceHenry: 20e-9, SourceOhm: 33, SourceFarad: 220e-6,
		LeadOhm: 60e-3, LeadHenry: 0.4e-6, FixtureFarad: 6e-12, GroundFarad: 3e-12,
		ContactOhm: 2e-3, ContactSpreadOhm: 0.5e-3, FixtureSpreadFarad: 0.02e-12,
		Inputs:     [2]Input{{220e3, 120e-12, 3, 0.001}, {220e3, 135e-12, 3.2, 0}},
		Amplifier:  Amplifier{4e6, 200e3, 50, 8e-12},
		DriveVolts: 1.2, FullScaleVolts: [2]float64{1.6, 1.5},
	}
	if !reflect.DeepEqual(*got.Jig, jig) {
		t.Errorf("jig\n%+v, want\n%+v", *got.Jig, jig)
	}
	faults := Faults{
		LatencyFrames: 2000, SilenceFrames: 100, Crosstalk: [2]float64{40e-6, -56e-6}, Gain: [2]float64{0, 0.004}, GainDrift: 5e-6,
		Delay: [2]float64{0, 0.31}, ClockPPM: -12.5, Hum: Hum{50.02, []float64{250e-6, 32e-6, 100e-6}}, Offset: [2]float64{1e-3, -0.7e-3},
		Noise: [2]float64{4e-6, 4e-6}, PinkNoise: [2]float64{1e-6, 1e-6}, Clip: true, Bits: 24, ResampleHz: 44100, Swapped: true,
		Drops: []Drop{{30000, 480, Repeat, true}},
	}
	if !reflect.DeepEqual(*got.Faults, faults) {
		t.Errorf("faults\n%+v, want\n%+v", *got.Faults, faults)
	}
	if _, err := New(Config{Jig: *got.Jig, Faults: *got.Faults, Tray: got}); err != nil {
		t.Error(err)
	}
}

func TestParseTrayEmpty(t *testing.T) {
	got, err := ParseTray("empty", nil)
	if err != nil || len(got.Parts) != 0 || got.Jig != nil || got.Faults != nil {
		t.Errorf("got %+v, %v", got, err)
	}
}

// An error names the file, the line and the key.
func TestParseTrayRefuses(t *testing.T) {
	cases := []struct {
		text string
		line int
		want string
	}{
		{"[[part]]\nname = \"a\"\ncolour = \"red\"\n", 3, "part.colour: unknown key"},
		{"[[part]]\nname = \"a\"\ncircuit = \"R\"\n", 1, "is not a value"},
		{"\n[[part]]\nname = \"a\"\n[[part]]\nname = \"a\"\n", 4, `two parts are called "a"`},
		{"[[part]]\ncircuit = \"R 1\"\n", 1, "without a name"},
		{"[[part]]\nname = \"a\"\n[[part.ceramic]]\ncapacitance = \"1x\"\n", 4, `"1x" is not a value`},
		{"[[part]]\nname = \"a\"\n[[part.ceramic]]\ncapacitance = \"1u\"\n", 1, "needs farads and volts"},
		{"[[part]]\nname = \"a\"\n[[part.core]]\nflux = 1\n", 1, "needs henries"},
		{"[[part]]\nname = \"a\"\n[[part.constant_phase]]\nq = 1\nexponent = 1\n", 1, "between 0.01 and 0.99"},
		{"[[part]]\nname = \"a\"\n[[part.junction]]\ncount = -1\n", 1, "junction"},
		{"[[part]]\nname = \"a\"\n" + strings.Repeat("[[part.junction]]\n", 9), 1, "6 are the most"},
		{"[[part]\n", 1, ""},
		{"[jig]\nreference = \"-5\"\n", 2, "is not a value"},
		{"[jig]\nchannels = [\"left\", \"right\"]\n", 0, "no wiring"},
		{"[jig]\nchannels = [\"part\"]\n", 0, "two channels"},
		{"[faults]\nbits = 99\n", 0, "resolution"},
		{"[faults]\n[[faults.drop]]\nframes = 3\nfill = \"sand\"\n", 0, `"sand"`},
		{"[faults]\nnoise = [1, 2, 3]\n", 0, "noise has 3 values"},
		{"[jig]\nfull_scale = [\"1V\"]\n", 0, "full_scale has 1 values"},
	}
	for _, c := range cases {
		_, err := ParseTray("tray.toml", []byte(c.text))
		var place *TrayError
		if !errors.As(err, &place) || place.File != "tray.toml" || place.Line != c.line || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: got %v, want line %d and %q", c.text, err, c.line, c.want)
		}
	}
	if e := (&TrayError{File: "f", Err: errNetwork}); !errors.Is(e, errNetwork) {
		t.Error("the cause is hidden")
	}
}

// Whatever is read can be simulated, or says why not.
func FuzzParseTray(f *testing.F) {
	data, err := os.ReadFile("testdata/tray.toml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte("[[part]]\nname = \"a\"\ncircuit = \"R 1 // C 1u\"\n"))
	f.Add([]byte("[faults]\nclock_ppm = -1e3\n[jig]\nreference = 0\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		tray, err := ParseTray("f", data)
		if err != nil {
			var place *TrayError
			if !errors.As(err, &place) {
				t.Errorf("%v is no TrayError", err)
			}
			return
		}
		for i := range tray.Parts {
			if _, err := tray.find(tray.Parts[i].Name, 1000); err != nil {
				t.Errorf("read, but not found: %v", err)
			}
		}
	})
}

func ExampleParseTray() {
	tray, err := ParseTray("tray.toml", []byte(`
[[part]]
name = "resonator"
circuit = "C 100n // (L 10m + R 12)"

[[part]]
name = "diode"
[[part.junction]]
series_resistance = "0.6"
`))
	fmt.Println(names(tray.Parts), err)
	_, err = ParseTray("tray.toml", []byte("[[part]]\nname = \"a\"\ncircuit = \"R 1 +\"\n"))
	fmt.Println(err)
	// Output:
	// resonator, diode <nil>
	// virtual: tray.toml:1: part: "a": circuit "R 1 +", place 6: an element is missing at the end
}

// What can be put in is listed: a part that bears the name of a standard once.
func TestParts(t *testing.T) {
	tray, err := ParseTray("tray", []byte("[[part]]\nname = \"film\"\ncircuit = \"C 1u\"\n[[part]]\nname = \"short\"\ncircuit = \"R 1m\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	c := newCard(t, Config{Tray: tray, Jig: Jig{ReferenceOhm: 470}})
	list := c.Parts()
	if got := names(list); got != "film, short, open, load" {
		t.Fatalf("there are %s", got)
	}
	if list[1].Circuit != "R 1m" || list[3].Circuit != "R 470 // C 0.2p" {
		t.Errorf("got %+v", list)
	}
	for _, p := range list {
		if err := c.Insert(p.Name); err != nil {
			t.Error(err)
		}
	}
}
