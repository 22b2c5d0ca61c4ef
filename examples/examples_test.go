// Package examples holds small programs that use the library; this test runs them
// on recordings of a simulated jig.
package examples

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func TestExamplesRun(t *testing.T) {
	recording := "../testdata/recordings/p11-uncalibrated/part-c150n.wav"
	for _, tc := range []struct {
		name string
		args []string
		want []string
	}{
		{"demodulate", []string{recording}, []string{"1000.00", "channel 2:", "hum: mains lines"}},
		{"impedance", []string{"../testdata/recordings/p03-electrolytics-two-tones", "part-c100u.wav"}, []string{"Cs ", " µF ±", "ESR"}},
		{"resonance", []string{"../testdata/recordings/p11-uncalibrated/part-l100m.wav", recording}, []string{"f0 ", "kHz ±"}},
		{"chopper", nil, []string{"2.0 s, 404.0 Hz:", "7.0 m -0.6 rad"}},
		{"chirp", nil, []string{"Hz: 0.", "a first-order low-pass has 0."}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			out, err := exec.Command("go", append([]string{"run", "./" + tc.name}, tc.args...)...).CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			for _, want := range tc.want {
				if !strings.Contains(string(out), want) {
					t.Errorf("no %q in what it printed:\n%s", want, out)
				}
			}
		})
	}
}

// The stream reads 16-bit samples from its standard input.
func TestStreamReadsAPipe(t *testing.T) {
	var pipe bytes.Buffer
	for i := range 2 * 48000 {
		c := math.Cos(2 * math.Pi * float64(i%48) / 48)
		for _, v := range []float64{0.5 * c, 0.125 * c} {
			if err := binary.Write(&pipe, binary.LittleEndian, int16(32768*v)); err != nil {
				t.Fatal(err)
			}
		}
	}
	cmd := exec.Command("go", "run", "./stream")
	cmd.Stdin = &pipe
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.Contains(string(out), "2.0 s  0.5000  0.1250  ratio 0.2500") {
		t.Errorf("%v\n%s", err, out)
	}
}

// An example that does not fit on a page is none.
func TestExamplesAreShort(t *testing.T) {
	paths, err := filepath.Glob("*/main.go")
	if err != nil || len(paths) < 5 {
		t.Fatal(paths, err)
	}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if n := bytes.Count(data, []byte("\n")); n >= 60 {
			t.Errorf("%s has %d lines, want fewer than 60", path, n)
		}
	}
}
