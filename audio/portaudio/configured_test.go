//go:build portaudio && cgo && linux

package portaudio

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A sound configuration that is missing, empty or no configuration is an error, and
// never the end of the process.
func TestSoundConfigurationMissing(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return "ALSA_CONFIG_PATH=" + path
	}
	missing, mistaken := "is missing, or has no device", "cannot be read"
	for _, c := range []struct{ env, want string }{
		{"ALSA_CONFIG_PATH=" + dir + "/none", missing},
		{"ALSA_CONFIG_PATH=" + dir, missing},
		{"ALSA_CONFIG_DIR=" + dir, missing},
		{write("empty", ""), missing},
		{write("word", "pcm foo\n"), missing},
		{write("list", "pcm [ a b ]\n"), missing},
		{write("other", "pcm.other { type null }\n"), missing},
		{write("control", "ctl.default { type hw card 0 }\n"), missing},
		{write("cut", "pcm.!default {\n"), mistaken},
		{write("noise", "\x00\xff}{][;;=\n\"\x01"), mistaken},
		{write("include", "</nonexistent/alsa.conf>\n"), mistaken},
		{write("alias", "pcm.default foo\n"), ""},
		{write("typed", "pcm.default { type 7 }\n"), ""},
		{write("null", "pcm.default { type null }\n"), ""},
	} {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), asLister+"=1", "JACK_NO_START_SERVER=1", "HOME="+dir, c.env)
		out, err := cmd.CombinedOutput()
		said := string(out)
		if err != nil || !strings.Contains(said, "list: 0") && c.want != "" {
			t.Errorf("%s: %v\n%.600s", c.env, err, said)
			continue
		}
		if c.want != "" && (strings.Count(said, c.want) != 2 || strings.Count(said, "true") != 2) {
			t.Errorf("%s: %q is not in\n%s", c.env, c.want, said)
		}
	}
}
