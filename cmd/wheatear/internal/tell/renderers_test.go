package tell_test

import (
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// Renderers know blocks and no document, and blocks know neither.
func TestRenderersKnowNoDocuments(t *testing.T) {
	files, err := filepath.Glob("../render/*/*.go")
	blocks, _ := filepath.Glob("../block/*.go")
	if err != nil || len(files) < 5 || len(blocks) == 0 {
		t.Fatalf("%d renderers, %d blocks: %v", len(files), len(blocks), err)
	}
	for _, name := range append(files, blocks...) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range f.Imports {
			path := strings.Trim(i.Path.Value, `"`)
			for _, none := range []string{"result", "tell", "report", "notebook", "run", "live"} {
				if path == "example.org/wheatear/cmd/wheatear/internal/"+none {
					t.Errorf("%s imports %s", name, path)
				}
			}
		}
	}
}
