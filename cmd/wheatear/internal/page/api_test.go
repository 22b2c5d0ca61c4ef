package page

import (
	"encoding/json"
	"net/http"
	"sort"
	"strings"
	"testing"
)

// The document of the interface lists the routes, all of them and no others.
func TestDocumentListsTheRoutes(t *testing.T) {
	var doc struct {
		OpenAPI    string                                `json:"openapi"`
		Paths      map[string]map[string]json.RawMessage `json:"paths"`
		Components struct {
			Schemas map[string]json.RawMessage `json:"schemas"`
		} `json:"components"`
	}
	if err := json.Unmarshal(document, &doc); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(doc.OpenAPI, "3.1.") {
		t.Errorf("version %q", doc.OpenAPI)
	}
	var documented, routed []string
	for path, methods := range doc.Paths {
		for method := range methods {
			documented = append(documented, strings.ToUpper(method)+" "+path)
		}
	}
	for _, r := range (&Bench{}).routes() {
		routed = append(routed, r.method+" "+r.path)
	}
	sort.Strings(documented)
	sort.Strings(routed)
	if got, want := strings.Join(documented, "\n"), strings.Join(routed, "\n"); got != want {
		t.Errorf("documented:\n%s\nrouted:\n%s", got, want)
	}
	for _, part := range strings.Split(string(document), `"#/components/schemas/`)[1:] {
		name, _, _ := strings.Cut(part, `"`)
		if doc.Components.Schemas[name] == nil {
			t.Errorf("there is no schema %s", name)
		}
	}
}

// A request whose document is no object is refused; without one it stands for {}.
func TestOnlyObjectsAreTaken(t *testing.T) {
	t.Parallel()
	s := serve(t, Options{Folder: t.TempDir()})
	for _, body := range []string{"null", "1", "[]", `"x"`, "true", "{} {}", `{"colour": 1}`, "{"} {
		s.refused("stop", body, http.StatusBadRequest)
	}
	s.ok("stop", "{}")
	s.ok("stop", "")
}
