// Package schemas holds what is published about the JSON documents of the program: a
// JSON Schema (draft 2020-12) for each that it prints, or keeps in files for others.
// What tests of the commands check is what is here.
package schemas

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
)

//go:embed documents/*.json
var documents embed.FS

// shared are definitions that several documents refer to.
//
//go:embed shared.json
var shared []byte

// Schema is one of them.
type Schema struct {
	Name  string // measure, of wheatear.measure/1
	ID    string // what the documents say they are: wheatear.measure/1
	Title string
}

// All lists the schemas by name.
func All() ([]Schema, error) {
	files, err := documents.ReadDir("documents")
	if err != nil {
		return nil, err
	}
	var list []Schema
	for _, f := range files {
		name := strings.TrimSuffix(f.Name(), ".json")
		text, err := raw(name)
		if err != nil {
			return nil, err
		}
		var head struct {
			Title      string `json:"title"`
			Properties struct {
				Schema struct {
					Const string `json:"const"`
				} `json:"schema"`
			} `json:"properties"`
		}
		if err := json.Unmarshal(text, &head); err != nil {
			return nil, fmt.Errorf("schemas: %s: %w", name, err)
		}
		list = append(list, Schema{name, head.Properties.Schema.Const, head.Title})
	}
	return list, nil
}

// Document returns a schema, complete in itself: the definitions that it refers to stand
// in it under $defs. The name may be that of the schema or what documents say they are.
// ok is false where there is none of that name.
func Document(name string) (text []byte, ok bool, err error) {
	name = strings.TrimPrefix(name, "wheatear.")
	name, _, _ = strings.Cut(name, "/")
	text, err = raw(name)
	if err != nil {
		return nil, false, nil
	}
	var defs map[string]json.RawMessage
	if err := json.Unmarshal(shared, &defs); err != nil {
		return nil, true, fmt.Errorf("schemas: %w", err)
	}
	needed := map[string]bool{}
	if err := need(text, defs, needed); err != nil {
		return nil, true, fmt.Errorf("schemas: %s: %w", name, err)
	}
	return withDefs(text, defs, slices.Sorted(maps.Keys(needed))), true, nil
}

func raw(name string) ([]byte, error) {
	return documents.ReadFile(path.Join("documents", name+".json"))
}

var reference = regexp.MustCompile(`"#/\$defs/([^"/]+)"`)

// need marks what a text refers to, and what that refers to in turn.
func need(text []byte, defs map[string]json.RawMessage, needed map[string]bool) error {
	for _, m := range reference.FindAllSubmatch(text, -1) {
		name := string(m[1])
		if needed[name] {
			continue
		}
		if defs[name] == nil {
			return fmt.Errorf("there is no definition %q", name)
		}
		needed[name] = true
		if err := need(defs[name], defs, needed); err != nil {
			return err
		}
	}
	return nil
}

// withDefs puts the definitions behind what is there, which keeps its order.
func withDefs(text []byte, defs map[string]json.RawMessage, names []string) []byte {
	text = bytes.TrimRight(text, " \n")
	if len(names) == 0 {
		return append(text, '\n')
	}
	var b bytes.Buffer
	b.Write(bytes.TrimRight(bytes.TrimSuffix(text, []byte("}")), " \n"))
	b.WriteString(",\n \"$defs\": {\n")
	for i, name := range names {
		end := ",\n"
		if i == len(names)-1 {
			end = "\n"
		}
		fmt.Fprintf(&b, "  %q: %s%s", name, bytes.ReplaceAll(defs[name], []byte("\n"), []byte("\n ")), end)
	}
	b.WriteString(" }\n}\n")
	return b.Bytes()
}
