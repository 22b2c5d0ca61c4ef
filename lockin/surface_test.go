package lockin

import (
	"go/ast"
	"go/doc"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strings"
	"testing"
)

// The names that importers see: none is added or dropped unseen. They stay as they are
// through version 1; what they do may become better, not other.
func TestExportedNames(t *testing.T) {
	fset := token.NewFileSet()
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	var parsed []*ast.File
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".go") && !strings.HasSuffix(f.Name(), "_test.go") {
			file, err := parser.ParseFile(fset, f.Name(), nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			parsed = append(parsed, file)
		}
	}
	pkg, err := doc.NewFromFiles(fset, parsed, "example.org/wheatear/lockin")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	values := func(v []*doc.Value) {
		for _, group := range v {
			got = append(got, group.Names...)
		}
	}
	values(pkg.Consts)
	values(pkg.Vars)
	for _, f := range pkg.Funcs {
		got = append(got, f.Name)
	}
	for _, typ := range pkg.Types {
		got = append(got, typ.Name)
		values(typ.Consts)
		values(typ.Vars)
		for _, f := range typ.Funcs {
			got = append(got, f.Name)
		}
	}
	got = slices.DeleteFunc(got, func(name string) bool { return !token.IsExported(name) })
	slices.Sort(got)
	want := strings.Fields("Config Correlate Demodulator ErrConfig ErrSignal Estimate Filter Fit FitConfig Flags Frames " +
		"Held Interleaved Lock Locked Lost Mark New Planar Response Result Sample Settled Tone")
	if !slices.Equal(got, want) {
		t.Errorf("exported: %v\nwant:     %v", got, want)
	}
}
