package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// whats are parts of the simulated jig, and what they are. The simulated card solves
// them in the time domain and shares no formula with what identifies them.
var whats = []struct {
	name, circuit, family, marking string
	value                          float64
}{
	{"r", "R 4690", "resistor", "4K7", 4690},
	{"film", "R 0.02 + C 98n + L 12n", "film or class-1 ceramic capacitor", "100n", 98e-9},
	{"elko", "R 0.21 + L 15n + C 104u // (R 8 + C 6u)", "electrolytic capacitor", "100µ", 104e-6},
	{"leaky", "R 47k // C 1u", "leaky capacitor", "1µ0", 1e-6},
	{"air", "(R 12 + L 10.4m) // C 40p", "coil in air", "10m", 10.4e-3},
	{"iron", "(R 80 + L 1.04 // R 120k) // C 60p", "coil on a core", "1H", 1.04},
	{"tank", "(R 4 + L 9.93m) // C 100.2n", "resonator", "", 5045},
	{"speaker", "R 5.8 + L 300u // R 12 + R 31 // C 520u // L 38m", "loudspeaker", "", 5.8},
}

func TestIdentifyOnTheSimulatedJig(t *testing.T) {
	dir := t.TempDir()
	path := func(name string) string { return filepath.Join(dir, name) }
	tray := ""
	for _, w := range whats {
		tray += fmt.Sprintf("[[part]]\nname = %q\ncircuit = %q\n", w.name, w.circuit)
	}
	tray += "[faults]\nnoise = [\"4u\", \"4u\"]\nbits = 24\n"
	for name, text := range map[string]string{"jig.toml": strings.Replace(spiceJig, `"1k"`, `"330"`, 1), "tray.toml": tray} {
		if err := os.WriteFile(path(name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	jig, cal := path("jig.toml"), path("cal.json")
	if status, _, talk := command("calibrate", "--jig", jig, "--at", "20..20k/21", "--load", "330/0.1%", "--out", cal); status != 0 {
		t.Fatalf("calibrate: status %d: %s", status, talk)
	}
	for _, w := range whats {
		status, out, talk := command("identify", "--jig", jig, "--calibration", cal, "--part", w.name, "--thorough", "--json")
		if status != 0 && status != 3 {
			t.Errorf("%s: status %d: %s", w.name, status, talk)
			continue
		}
		var got struct {
			Family, Confidence string
			Reasons            []string
			Value              quantity
			Marking            struct{ Text string }
			Circuit            struct{ Circuit string }
		}
		if err := json.Unmarshal(out, &got); err != nil {
			t.Errorf("%s: %v", w.name, err)
			continue
		}
		t.Logf("%s: %s, %s, %s (%s)", w.name, got.Family, got.Confidence, got.Marking.Text, got.Circuit.Circuit)
		if got.Family != w.family {
			t.Errorf("%s is called a %s with %s confidence, want %s: %q", w.name, got.Family, got.Confidence, w.family, got.Reasons)
			continue
		}
		if got.Marking.Text != w.marking {
			t.Errorf("%s: marking %s, want %s", w.name, got.Marking.Text, w.marking)
		}
		// Within 2 % is enough to tell that it is the value of the right thing; how near it
		// is to the elements is the matter of the tests of fit. The absorption of the
		// electrolytic is 6 % of its value.
		if v := got.Value.Value; v == nil || *v < 0.98*w.value || *v > 1.02*w.value && (w.name != "elko" || *v > 1.08*w.value) {
			t.Errorf("%s: value %v, want %g", w.name, got.Value, w.value)
		}
	}
}
