package cli

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/audio/kept"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// mounted is a disk of so many bytes.
func mounted(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no disk of its own may be mounted: %v %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", "-l", dir).CombinedOutput(); err != nil {
			t.Errorf("%v %s", err, out)
		}
	})
	return dir
}

// benchOn writes a jig with a tray into a folder.
func benchOn(t *testing.T, dir string) (jig string) {
	t.Helper()
	for name, text := range map[string]string{"bench.toml": clitest.LiveJig, "tray.toml": clitest.Tray} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(dir, "bench.toml")
}

// running is what a command says, and its exit status.
func running(args ...string) (Status, string) {
	var out bytes.Buffer
	status := Run(context.Background(), append(args, "--no-notebook"), strings.NewReader(""), &out, &out)
	return Status(status), strings.Join(strings.Fields(out.String()), " ")
}

// A disk that fills up while recordings are kept: the command says so, and what lies
// in the folder is whole or not there.
func TestKeepOnAFullDisk(t *testing.T) {
	jig := benchOn(t, t.TempDir())
	for _, size := range []string{"8k", "100k", "300k", "500k", "900k"} {
		dir := filepath.Join(mounted(t, size), "run")
		status, said := running("sweep", "--jig", jig, "--at", "100,1k,2k,4k,8k,10k", "--part", "c100n", "--state", filepath.Join(t.TempDir(), "state"), "--keep", dir)
		if status != Failed || !strings.Contains(said, "no space left") {
			t.Errorf("%s: exit status %d, said %s", size, status, said)
		}
		files, _ := filepath.Glob(filepath.Join(dir, "*"))
		for _, file := range files {
			if base, ok := strings.CutSuffix(file, ".wav"); ok {
				if _, err := kept.Read(base); err != nil {
					t.Errorf("%s: %v", size, err)
				}
			}
			if strings.HasSuffix(file, ".part") {
				t.Errorf("%s: %s is left", size, file)
			}
		}
	}
}

// Where the points of a sweep cannot be kept, nothing is played; where the disk fills up
// on the way, the message counts what its file really holds.
func TestSweepOnAFullDisk(t *testing.T) {
	jig := benchOn(t, t.TempDir())
	missing := filepath.Join(t.TempDir(), "no folder", "state.json")
	status, said := running("sweep", "--jig", jig, "--at", "1k,2k", "--part", "c100n", "--state", missing)
	if status != Failed || strings.Contains(said, "keeps") || strings.Contains(said, "points") {
		t.Errorf("no folder for the state: %d, %s", status, said)
	}
	dir := mounted(t, "40k")
	state := filepath.Join(dir, "state.json")
	status, said = running("sweep", "--jig", jig, "--at", "100,200,400,1k,2k,4k,5k,6k,7k,8k", "--part", "c100n", "--state", state)
	if status != Failed || !strings.Contains(said, "no space left") || !strings.Contains(said, "keeps") {
		t.Fatalf("%d, %s", status, said)
	}
	text, err := os.ReadFile(state)
	if err != nil {
		t.Fatal(err)
	}
	points := strings.Count(string(text), `"frequency_nominal_hz"`)
	t.Logf("%d points in the file: %s", points, said)
	if points == 0 {
		t.Skip("the file names points otherwise")
	}
}

// What is kept is for its owner alone.
func TestKeptFilesArePrivate(t *testing.T) {
	jig := benchOn(t, t.TempDir())
	dir := filepath.Join(t.TempDir(), "run")
	if status, said := running("measure", "--jig", jig, "--at", "1k", "--part", "c100n", "--keep", dir); status != Done {
		t.Fatal(said)
	}
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has the rights %v", name, info.Mode())
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}
