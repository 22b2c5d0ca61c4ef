package page

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// described is the document of the interface, ready to be held against what is said.
var described = sync.OnceValues(func() (*interfaceDocument, error) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(document))
	if err != nil {
		return nil, err
	}
	d := &interfaceDocument{compiler: jsonschema.NewCompiler(), schemas: map[string]*jsonschema.Schema{}}
	d.compiler.DefaultDraft(jsonschema.Draft2020) // that of OpenAPI 3.1
	d.compiler.UseLoader(jsonschema.SchemeURLLoader{})
	if err := d.compiler.AddResource(documentURL, doc); err != nil {
		return nil, err
	}
	return d, json.Unmarshal(document, &d.doc)
})

const documentURL = "mem:///openapi.json"

type interfaceDocument struct {
	mu       sync.Mutex
	compiler *jsonschema.Compiler
	schemas  map[string]*jsonschema.Schema
	doc      struct {
		Paths map[string]map[string]struct {
			RequestBody *struct {
				Content map[string]json.RawMessage `json:"content"`
			} `json:"requestBody"`
			Responses map[string]struct {
				Content map[string]json.RawMessage `json:"content"`
			} `json:"responses"`
		} `json:"paths"`
		Components struct {
			Schemas map[string]json.RawMessage `json:"schemas"`
		} `json:"components"`
	}
}

// schema compiles what a path within the document holds.
func (d *interfaceDocument) schema(steps ...string) (*jsonschema.Schema, error) {
	at := documentURL + "#"
	for _, s := range steps {
		at += "/" + strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(s)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if s := d.schemas[at]; s != nil {
		return s, nil
	}
	s, err := d.compiler.Compile(at)
	if err == nil {
		d.schemas[at] = s
	}
	return s, err
}

// template is the path of the document that a request goes to.
func (d *interfaceDocument) template(path string) (string, bool) {
	path, _, _ = strings.Cut(path, "?")
	if d.doc.Paths[path] != nil {
		return path, true
	}
	parts := strings.Split(path, "/")
	for t := range d.doc.Paths {
		same := slices.EqualFunc(strings.Split(t, "/"), parts, func(a, b string) bool { return a == b || strings.HasPrefix(a, "{") && b != "" })
		if same {
			return t, true
		}
	}
	return "", false
}

// holdTo holds an exchange against the document: the kind of the answer, what is in it,
// and what was asked where it was taken. Pages are no part of the document.
func holdTo(method, path, asked string, status int, kind string, text []byte) error {
	d, err := described()
	if err != nil {
		return err
	}
	template, ok := d.template(path)
	if !ok {
		return nil
	}
	call, ok := d.doc.Paths[template][strings.ToLower(method)]
	if !ok {
		return nil // refused; the routes are held to the document elsewhere
	}
	at := []string{"paths", template, strings.ToLower(method)}
	if asked != "" && status == http.StatusOK && call.RequestBody != nil {
		if err := d.valid([]byte(asked), append(slices.Clone(at), "requestBody", "content", "application/json", "schema")...); err != nil {
			return fmt.Errorf("it was taken: %w", err)
		}
	}
	code := fmt.Sprint(status)
	if _, own := call.Responses[code]; !own {
		code = "default"
	}
	kind, _, _ = strings.Cut(kind, ";")
	content := call.Responses[code].Content
	if _, ok := content[kind]; !ok && status < http.StatusInternalServerError {
		return fmt.Errorf("the answer %d is %q, of which the document knows nothing", status, kind)
	}
	if kind != "application/json" {
		return nil
	}
	if err := d.valid(text, append(slices.Clone(at), "responses", code, "content", kind, "schema")...); err != nil {
		return err
	}
	return withinConforms(text)
}

// valid holds a document to a schema.
func (d *interfaceDocument) valid(text []byte, steps ...string) error {
	s, err := d.schema(steps...)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// withinConforms holds every document of the command line that is somewhere within an
// answer to its published schema.
func withinConforms(text []byte) error {
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	return walkDocuments(v)
}

// ours are documents of the page itself, which openapi.json describes.
var ours = []string{stateSchema, updateSchema, sweepSchema, sortSchema, guideSchema}

func walkDocuments(v any) error {
	switch v := v.(type) {
	case []any:
		for _, x := range v {
			if err := walkDocuments(x); err != nil {
				return err
			}
		}
	case map[string]any:
		if name, ok := v["schema"].(string); ok && strings.HasPrefix(name, "wheatear.") && !slices.Contains(ours, name) {
			return clitest.Conforms(v)
		}
		for _, x := range v {
			if err := walkDocuments(x); err != nil {
				return err
			}
		}
	}
	return nil
}

// Every schema in the document is one.
func TestDocumentHoldsSchemas(t *testing.T) {
	d, err := described()
	if err != nil {
		t.Fatal(err)
	}
	for name := range d.doc.Components.Schemas {
		if _, err := d.schema("components", "schemas", name); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	for path, methods := range d.doc.Paths {
		for method, call := range methods {
			at := []string{"paths", path, method}
			if call.RequestBody != nil {
				if _, err := d.schema(append(at, "requestBody", "content", "application/json", "schema")...); err != nil {
					t.Errorf("%s %s: %v", method, path, err)
				}
			}
			for code, r := range call.Responses {
				for kind := range r.Content {
					if _, err := d.schema(append(at, "responses", code, "content", kind, "schema")...); err != nil {
						t.Errorf("%s %s, %s, %s: %v", method, path, code, kind, err)
					}
				}
			}
		}
	}
}

// The document's name for what an event holds.
var eventSchemas = map[string]string{"state": "State", "live": "Update", "progress": "Progress"}

// holdEvents reads events until enough of each kind that is wanted has come, and holds
// all of them to the document.
func holdEvents(t *testing.T, s *served, want map[string]int) {
	t.Helper()
	d, err := described()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, "GET", s.url+"/api/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	resp, err := still.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if kind := resp.Header.Get("Content-Type"); kind != "text/event-stream" {
		t.Errorf("events come as %q", kind)
	}
	lines := bufio.NewScanner(resp.Body)
	lines.Buffer(nil, 1<<22)
	name := ""
	for lines.Scan() {
		if what, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
			name = what
		}
		data, ok := strings.CutPrefix(lines.Text(), "data: ")
		if !ok {
			continue
		}
		schema := eventSchemas[name]
		if schema == "" {
			t.Fatalf("there are events %q, of which the document knows nothing", name)
		}
		if err := d.valid([]byte(data), "components", "schemas", schema); err != nil {
			t.Errorf("an event %s: %v", name, err)
		}
		if err := withinConforms([]byte(data)); err != nil {
			t.Errorf("an event %s: %v", name, err)
		}
		if want[name]--; want[name] <= 0 {
			delete(want, name)
		}
		if len(want) == 0 {
			return
		}
	}
	t.Errorf("the events end (%v) with %v to come", lines.Err(), want)
}

// What pages are told while things happen is what the document says.
func TestEventsAreAsDocumented(t *testing.T) {
	t.Parallel()
	s := ready(t, Options{})
	s.ok("live", `{"at": "1k"}`)
	holdEvents(t, s, map[string]int{"live": 3, "state": 1})
	if status, text := s.call("GET", "/api/live", ""); status != http.StatusOK {
		t.Errorf("/api/live: %d %s", status, text)
	}
	s.ok("stop", `{}`)
	s.idle()
	s.ok("calibration", `{"at": "~1k", "loads": ["1k/0.1%"], "auto": true}`)
	holdEvents(t, s, map[string]int{"progress": 2, "state": 3})
	s.until("it is calibrated", func(st *State) bool { return st.Owner == nil && st.Calibration != nil })
	if status, _ := s.call("GET", "/api/state", ""); status != http.StatusOK {
		t.Errorf("state: %d", status)
	}
	for _, path := range []string{"/api/trend", "/api/calibration/file"} {
		if status, text := s.call("GET", path, ""); status != http.StatusOK {
			t.Errorf("%s: %d %s", path, status, text)
		}
	}
}
