package licences

import (
	"bytes"
	"cmp"
	"flag"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the list of licences anew")

// The list is what is linked into the program: the same modules, versions and texts.
func TestListIsTrue(t *testing.T) {
	want := generate(t)
	if *update {
		if err := os.WriteFile("linked.txt", []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if linked != want {
		t.Error("linked.txt is not what is linked: go test ./cmd/wheatear/internal/licences -update")
	}
}

// Every module has a licence that is known, with its text.
func TestEveryModuleHasALicence(t *testing.T) {
	list := All()
	if len(list) < 30 {
		t.Fatalf("%d modules", len(list))
	}
	for _, m := range list {
		if m.Version == "" || m.Licences == "" || strings.Contains(m.Licences, "?") || len(m.Text) < 200 {
			t.Errorf("%s %s: %q, %d letters", m.Path, m.Version, m.Licences, len(m.Text))
		}
	}
}

// systems that the program is built for.
var systems = []string{"linux", "darwin", "windows"}

// generate makes the list of the modules in the cache of modules; nothing is fetched.
func generate(t *testing.T) string {
	dirs := map[string]string{}
	for _, system := range systems {
		cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}", "../..")
		cmd.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0", "GOFLAGS=-mod=readonly", "GOPROXY=off")
		var fault bytes.Buffer
		cmd.Stderr = &fault
		out, err := cmd.Output()
		if err != nil && strings.Contains(fault.String(), "module lookup disabled") {
			t.Skipf("modules for %s are not at hand: %s", system, fault.String())
		}
		if err != nil {
			t.Fatalf("%v: %s", err, fault.String())
		}
		for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
			if name, dir, ok := strings.Cut(line, "\t"); ok {
				dirs[name] = dir
			}
		}
	}
	var b strings.Builder
	for i, name := range slices.SortedFunc(maps.Keys(dirs), func(a, b string) int { return cmp.Compare(a, b) }) {
		if i > 0 {
			b.WriteString("\n")
		}
		names, text := texts(t, dirs[name])
		b.WriteString(strings.TrimPrefix(mark, "\n") + name + " " + names + "\n" + text)
	}
	return b.String()
}

var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e.*|copying.*|notice.*|patents|sqlite-license|third_party_licenses)$`)

// texts are what a module says of its licence, and the names of what it says.
func texts(t *testing.T, dir string) (names, text string) {
	var files, kinds []string
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Skipf("%s is not at hand: %v", dir, err)
	}
	for _, e := range entries {
		switch {
		case !licenceFile.MatchString(e.Name()):
		case e.IsDir():
			more, err := filepath.Glob(filepath.Join(dir, e.Name(), "*"))
			if err != nil {
				t.Fatal(err)
			}
			// Where there is a choice, the GPL is not what we take.
			files = append(files, slices.DeleteFunc(more, func(name string) bool { return filepath.Base(name) == "gpl.txt" })...)
		default:
			files = append(files, filepath.Join(dir, e.Name()))
		}
	}
	for _, file := range files {
		words, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		said := strings.TrimSpace(strings.ReplaceAll(string(words), "\r\n", "\n"))
		text += "\n--- " + filepath.Base(file) + "\n\n" + said + "\n"
		for _, k := range kindsOf(said) {
			if !slices.Contains(kinds, k) {
				kinds = append(kinds, k)
			}
		}
	}
	if len(kinds) == 0 {
		kinds = []string{"?"}
	}
	return strings.Join(kinds, ", "), text
}

// kindsOf are the SPDX names of the licences whose words stand in a text.
func kindsOf(text string) (list []string) {
	text = strings.Join(strings.Fields(text), " ")
	for _, k := range []struct {
		name string
		is   bool
	}{
		{"MIT", strings.Contains(text, "Permission is hereby granted, free of charge, to any person obtaining a copy")},
		{"BSD-3-Clause", strings.Contains(text, "Redistribution and use in source and binary forms") && regexp.MustCompile(`(?i)neither the name|the names? of .{0,80}may not be used to endorse`).MatchString(text)},
		{"BSD-2-Clause", strings.Contains(text, "Redistribution and use in source and binary forms") && !regexp.MustCompile(`(?i)neither the name|the names? of .{0,80}may not be used to endorse`).MatchString(text)},
		{"Apache-2.0", strings.Contains(text, "Apache License") && strings.Contains(text, "Version 2.0")},
		{"ISC", regexp.MustCompile(`Permission to use, copy, modify, and(/or)? distribute this software for any purpose with or without fee`).MatchString(text)},
		{"OFL-1.1", strings.Contains(text, "SIL OPEN FONT LICENSE")},
		{"FTL", strings.Contains(text, "The FreeType Project LICENSE")},
		{"CC-BY-4.0", strings.Contains(text, "Attribution 4.0 International") || strings.Contains(text, "creativecommons.org/licenses/by/4.0")},
		{"Unlicense", strings.Contains(text, "This is free and unencumbered software released into the public domain")},
		{"public domain", regexp.MustCompile(`(?i)dedicated to the public domain`).MatchString(text)},
	} {
		if k.is {
			list = append(list, k.name)
		}
	}
	return list
}
