// Package examples holds small programs that use the library; this test runs them
// on recordings of a simulated jig.
package examples

import (
	"os/exec"
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
		{"impedance", []string{recording, "1000"}, []string{"C  15", "nF ±", "uncalibrated:"}},
		{"buried", nil, []string{"after 80 s: 1", "played:     1414 µ, +0.50 rad"}},
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
