package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/cli"
)

// The drawings that the README shows are those that the help draws; -update renews them.
func TestDrawingsAreTheHelps(t *testing.T) {
	kept, dir := "../../testdata/wiring", t.TempDir()
	if *update {
		dir = kept
	}
	var out, talk bytes.Buffer
	if status := cli.Run(context.Background(), []string{"help", "wiring", "--svg", dir}, strings.NewReader(""), &out, &talk); status != 0 {
		t.Fatalf("status %d: %s", status, talk.String())
	}
	drawn, err := filepath.Glob(filepath.Join(dir, "*.svg"))
	if err != nil || len(drawn) < 4 {
		t.Fatalf("%d drawings, %v", len(drawn), err)
	}
	for _, name := range drawn {
		got, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(filepath.Join(kept, filepath.Base(name)))
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not the drawing kept in testdata/wiring: %v", filepath.Base(name), err)
		}
	}
}
