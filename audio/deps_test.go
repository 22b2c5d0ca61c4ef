package audio_test

import (
	"os/exec"
	"strings"
	"testing"
)

// What plays and records must know nothing of what measures: were a formula shared,
// an error in it would be on both sides of every test and cancel.
func TestKnowsNothingOfMeasuring(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-test", "./...").Output()
	if err != nil {
		t.Skipf("go list: %v", err)
	}
	seen := false
	for line := range strings.Lines(string(out)) {
		path, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		seen = seen || path == "example.org/wheatear/audio/virtual"
		if strings.HasPrefix(path, "example.org/wheatear/lockin") || strings.HasPrefix(path, "example.org/wheatear/cmd") {
			t.Errorf("a package under audio, or its tests, imports %s", path)
		}
	}
	if !seen {
		t.Error("go list does not know the simulated card; nothing was checked")
	}
}
