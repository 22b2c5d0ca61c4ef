package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/cli"
)

// The README's examples are what the commands print.
func TestReadmeExamples(t *testing.T) {
	t.Chdir("../..")
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(string(text), "```")
	ran := 0
	for i, block := range blocks {
		line, said, ok := strings.Cut(strings.TrimPrefix(block, "\n"), "\n")
		args, isCommand := strings.CutPrefix(line, "$ wheatear ")
		if i%2 == 0 || !ok || !isCommand {
			continue
		}
		ran++
		out, err := example(args)
		if err != nil {
			t.Errorf("%s: %v", line, err)
		}
		if why := differs(out, said); why != "" {
			t.Errorf("%s: %s. It prints\n%s\nthe README says\n%s", line, why, out, said)
			blocks[i] = "\n" + line + "\n" + out
		}
	}
	if ran == 0 {
		t.Error("the README holds no example")
	}
	if *update {
		if err := os.WriteFile("README.md", []byte(strings.Join(blocks, "```")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// example runs a command line of the README. The demo, which takes a while and
// leaves a folder, is run once for all tests.
func example(args string) (string, error) {
	if args == "demo" {
		return demonstrated()
	}
	var out, talk bytes.Buffer
	if status := cli.Run(context.Background(), strings.Fields(args), strings.NewReader(""), &out, &talk); status != 0 {
		return "", fmt.Errorf("status %d: %s", status, talk.String())
	}
	return out.String(), nil
}
