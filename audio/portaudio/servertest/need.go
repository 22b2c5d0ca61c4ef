//go:build linux

package servertest

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// CI is the environment variable with which a missing program fails the test.
const CI = "WHEATEAR_CI"

// packages that have the programs, by their names on Debian.
var packages = map[string]string{
	"pulseaudio": "pulseaudio", "pactl": "pulseaudio-utils", "parec": "pulseaudio-utils", "pacat": "pulseaudio-utils",
	"jackd": "jackd2", "jack_lsp": "jackd2", "gcc": "gcc", "pkg-config": "pkg-config",
}

// Need skips the test if a program is missing, and says which package has it.
// Where the variable [CI] is set the test fails instead.
func Need(t testing.TB, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			lacking(t, p, packages[p])
		}
	}
}

// lacking ends the test for want of something.
func lacking(t testing.TB, what, in string) {
	t.Helper()
	say := t.Skipf
	if os.Getenv(CI) != "" {
		say = t.Fatalf
	}
	say("servertest: no %s here (Debian: apt install %s)", what, in)
}

// environment returns the process's own variables without those that lead to a
// sound server, and with the given ones.
func environment(extra []string) []string {
	var out []string
	for _, kv := range os.Environ() {
		if name, _, _ := strings.Cut(kv, "="); !leads(name) {
			out = append(out, kv)
		}
	}
	return append(out, extra...)
}

// leads says whether a variable leads programs to a sound server or its settings.
func leads(name string) bool {
	switch name {
	case "DISPLAY", "WAYLAND_DISPLAY", "DBUS_SESSION_BUS_ADDRESS", "ALSA_CONFIG_PATH", "XDG_RUNTIME_DIR", "HOME":
		return true
	}
	return strings.HasPrefix(name, "PULSE_") || strings.HasPrefix(name, "JACK_")
}

// setenv gives this process the environment of a server, for the libraries that
// it has loaded itself; the test puts all back at its end.
func setenv(t testing.TB, env []string) {
	for _, kv := range os.Environ() {
		if name, value, _ := strings.Cut(kv, "="); leads(name) {
			t.Setenv(name, value) // which remembers it
			os.Unsetenv(name)
		}
	}
	for _, kv := range env {
		name, value, _ := strings.Cut(kv, "=")
		t.Setenv(name, value)
	}
}
