package main

import (
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
)

// The code map lists the packages that are there, and the files that it and the rest
// of the guide name exist.
func TestDevelopersGuide(t *testing.T) {
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("go", "list", "../../lockin/...", "../../audio/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, pkg := range strings.Fields(string(out)) {
		pkg = strings.TrimPrefix(pkg, "example.org/wheatear/")
		if !strings.Contains(string(text), "| `"+pkg+"` |") {
			t.Errorf("the code map lacks %s", pkg)
		}
	}
	for _, m := range regexp.MustCompile("`((?:lockin|audio|cmd|examples|testdata)/[a-zA-Z0-9_./-]+)`").FindAllStringSubmatch(string(text), -1) {
		if _, err := os.Stat("../../" + m[1]); err != nil {
			t.Errorf("the guide names %s, which is not there", m[1])
		}
	}
}
