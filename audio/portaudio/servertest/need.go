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
		name, _, _ := strings.Cut(kv, "=")
		if !strings.HasPrefix(name, "PULSE_") && !strings.HasPrefix(name, "JACK_") && !leadsAway[name] {
			out = append(out, kv)
		}
	}
	return append(out, extra...)
}

// leadsAway are variables that would lead programs to the user's own sound.
var leadsAway = map[string]bool{
	"DISPLAY": true, "WAYLAND_DISPLAY": true, "DBUS_SESSION_BUS_ADDRESS": true,
	"ALSA_CONFIG_PATH": true, "XDG_RUNTIME_DIR": true, "HOME": true,
}

// setenv gives this process the environment of a server, for the libraries that
// it has loaded itself; the test puts all back at its end.
func setenv(t testing.TB, env []string) {
	for name := range leadsAway {
		if _, ok := os.LookupEnv(name); ok {
			t.Setenv(name, "")
			os.Unsetenv(name)
		}
	}
	for _, kv := range env {
		name, value, _ := strings.Cut(kv, "=")
		t.Setenv(name, value)
	}
}
