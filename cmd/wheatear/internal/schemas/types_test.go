package schemas_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/schemas"
)

// What is published of a document is what its type has: the same keys at every depth, and
// nothing is required that may be left out.
func TestDocumentsAreTheirTypes(t *testing.T) {
	for name, doc := range map[string]any{
		"measure": result.Measurement{}, "sweep": result.Sweep{}, "compare": result.Comparison{}, "level": result.Levels{},
		"calibrate": result.Calibration{}, "setup": result.Setup{}, "fullscale": result.FullScale{}, "demo": result.Demo{},
		"devices": result.Devices{}, "simulate": result.Tray{}, "stimulus": result.Stimulus{}, "demodulate": result.Demodulation{},
		"verify": result.Verification{}, "fit": result.Fit{}, "identify": result.Identity{}, "incircuit": result.Spot{}, "parts": result.Parts{}, "identify.quick": result.Quick{}, "watch": result.Watched{}, "sort": result.Sorted{},
		"plan": result.Plan{}, "notebook.list": result.NotebookList{}, "notebook.show": result.NotebookShow{}, "notebook.history": result.NotebookHistory{},
		"notebook.import": result.NotebookImport{}, "notebook.prune": result.NotebookPrune{}, "notebook.check": result.NotebookCheck{},
	} {
		text, ok, err := schemas.Document(name)
		if !ok || err != nil {
			t.Fatalf("%s: %v, %v", name, ok, err)
		}
		var schema map[string]any
		if err := json.Unmarshal(text, &schema); err != nil {
			t.Fatal(err)
		}
		w := walk{t, schema["$defs"], map[string]bool{}}
		w.check(name, reflect.TypeOf(doc), schema)
	}
}

type walk struct {
	t    *testing.T
	defs any
	done map[string]bool
}

func (w walk) check(at string, typ reflect.Type, schema map[string]any) {
	for typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	for _, either := range []string{"oneOf", "anyOf"} { // of null and what is there
		for _, x := range list(schema[either]) {
			if x := x.(map[string]any); x["type"] != "null" {
				schema = x
			}
		}
	}
	if ref, ok := schema["$ref"].(string); ok {
		schema, _ = w.defs.(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
	}
	switch typ.Kind() {
	case reflect.Slice, reflect.Array:
		if items, ok := schema["items"].(map[string]any); ok {
			w.check(at+"[]", typ.Elem(), items)
		}
		return
	case reflect.Struct:
	default:
		return
	}
	properties, ok := schema["properties"].(map[string]any)
	if typ.Implements(reflect.TypeFor[json.Marshaler]()) || w.done[at] {
		return // it has keys of its own
	}
	w.done[at] = true
	if !ok {
		w.t.Errorf("%s: the schema has no properties", at)
		return
	}
	required := map[string]bool{}
	for _, key := range schema["required"].([]any) {
		required[key.(string)] = true
	}
	has := map[string]bool{}
	w.fields(at, typ, properties, required, has)
	for key := range properties {
		if !has[key] {
			w.t.Errorf("%s.%s is published, and not in the type", at, key)
		}
	}
}

func list(v any) []any {
	l, _ := v.([]any)
	return l
}

// fields holds those of a struct to the properties, with those of structs within it.
func (w walk) fields(at string, typ reflect.Type, properties map[string]any, required, has map[string]bool) {
	for i := range typ.NumField() {
		f := typ.Field(i)
		tag := f.Tag.Get("json")
		if f.Anonymous && tag == "" {
			w.fields(at, f.Type, properties, required, has)
			continue
		}
		key, options, _ := strings.Cut(tag, ",")
		if key == "" || key == "-" {
			continue
		}
		has[key] = true
		of, ok := properties[key].(map[string]any)
		if !ok {
			if at+"."+key != "sweep.chosen" { // the frequencies of a sweep are never chosen
				w.t.Errorf("%s.%s is not published", at, key)
			}
			continue
		}
		if strings.Contains(options, "omitempty") && required[key] {
			w.t.Errorf("%s.%s is required, and left out where it is empty", at, key)
		}
		w.check(at+"."+key, f.Type, of)
	}
}
