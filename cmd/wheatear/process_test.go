package main

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// program is wheatear as a process of its own, in a directory.
func program(dir string, args ...string) (cmd *exec.Cmd, out, talk *bytes.Buffer) {
	cmd = exec.Command("wheatear", args...) // see TestMain, which puts it into the path
	cmd.Dir = dir
	out, talk = new(bytes.Buffer), new(bytes.Buffer)
	cmd.Stdout, cmd.Stderr = out, talk
	return cmd, out, talk
}

// ran waits for a process and returns its exit status.
func ran(t testing.TB, cmd *exec.Cmd) int {
	t.Helper()
	var exit *exec.ExitError
	err := cmd.Wait()
	if errors.As(err, &exit) {
		return exit.ExitCode()
	}
	if err != nil {
		t.Fatal(err)
	}
	return 0
}

// done runs wheatear to its end, which must be exit status 0.
func done(t testing.TB, dir string, args ...string) (out, talk string) {
	t.Helper()
	cmd, o, e := program(dir, args...)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if status := ran(t, cmd); status != 0 {
		t.Fatalf("wheatear %q: exit status %d: %s", args, status, e)
	}
	return o.String(), e.String()
}

// files writes files into a new directory.
func files(t testing.TB, content map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range content {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}
