package lockin_test

import (
	"flag"
	"go/ast"
	"go/doc"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var writeSurface = flag.Bool("surface", false, "write testdata/surface.txt anew: every change of it is one for importers")

// What importers see of each public package, one name a line with its methods and fields
// behind it, is the list in testdata/surface.txt: nothing is added or dropped unseen. The
// names of lockin stay as they are through version 1 (see the package's documentation).
func TestExportedNames(t *testing.T) {
	const golden = "testdata/surface.txt"
	var lines []string
	names, members := 0, 0
	for _, dir := range publicPackages(t) {
		for _, name := range exported(t, dir) {
			names, members = names+1, members+len(name)-1
			lines = append(lines, filepath.ToSlash(filepath.Join("lockin", dir))+" "+strings.Join(name, " "))
		}
	}
	t.Logf("%d names with %d methods and fields in all public packages", names, members)
	if *writeSurface {
		if err := os.WriteFile(golden, []byte(strings.Join(lines, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Split(strings.TrimSpace(string(data)), "\n")
	for _, line := range lines {
		if !slices.Contains(want, line) {
			t.Errorf("not in %s: %s", golden, line)
		}
	}
	for _, line := range want {
		if !slices.Contains(lines, line) {
			t.Errorf("only in %s: %s", golden, line)
		}
	}
}

// publicPackages lists the directories of the packages that may be imported, "." first.
func publicPackages(t *testing.T) []string {
	t.Helper()
	var dirs []string
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || !d.IsDir():
			return err
		case d.Name() == "internal" || d.Name() == "testdata":
			return filepath.SkipDir
		}
		dirs = append(dirs, path)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return dirs
}

// document reads a package as go doc does.
func document(t *testing.T, dir string) *doc.Package {
	t.Helper()
	fset := token.NewFileSet()
	paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	var files []*ast.File
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	pkg, err := doc.NewFromFiles(fset, files, module+"/"+filepath.ToSlash(filepath.Join("lockin", dir)))
	if err != nil {
		t.Fatal(err)
	}
	return pkg
}

// exported lists the names of a package; a type is followed by its methods and fields.
func exported(t *testing.T, dir string) [][]string {
	pkg := document(t, dir)
	var out [][]string
	add := func(name string, members ...string) {
		if token.IsExported(name) {
			slices.Sort(members)
			out = append(out, append([]string{name}, members...))
		}
	}
	values := func(groups []*doc.Value) {
		for _, group := range groups {
			for _, name := range group.Names {
				add(name)
			}
		}
	}
	values(pkg.Consts)
	values(pkg.Vars)
	for _, f := range pkg.Funcs {
		add(f.Name)
	}
	for _, typ := range pkg.Types {
		values(typ.Consts)
		values(typ.Vars)
		for _, f := range typ.Funcs {
			add(f.Name)
		}
		add(typ.Name, membersOf(typ)...)
	}
	slices.SortFunc(out, func(a, b []string) int { return strings.Compare(a[0], b[0]) })
	return out
}

// membersOf lists the methods and fields of a type that are exported.
func membersOf(typ *doc.Type) []string {
	var members []string
	for _, m := range typ.Methods {
		members = append(members, m.Name)
	}
	for _, spec := range typ.Decl.Specs {
		s, ok := spec.(*ast.TypeSpec).Type.(*ast.StructType)
		if !ok {
			continue
		}
		for _, field := range s.Fields.List {
			for _, name := range field.Names {
				members = append(members, name.Name)
			}
		}
	}
	return slices.DeleteFunc(members, func(name string) bool { return !token.IsExported(name) })
}

// Every public package has an example with output, as seen from outside.
func TestEveryPackageHasAnExample(t *testing.T) {
	for _, dir := range publicPackages(t) {
		paths, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
		if err != nil {
			t.Fatal(err)
		}
		shown := false
		for _, path := range paths {
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			shown = shown || strings.HasSuffix(file.Name.Name, "_test") &&
				slices.ContainsFunc(doc.Examples(file), func(e *doc.Example) bool { return e.Output != "" })
		}
		if !shown {
			t.Errorf("%s has no example with output that imports it", dir)
		}
	}
}
