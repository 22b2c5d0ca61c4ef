package schemas

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Every document is a valid schema of its draft, complete in itself, and names itself.
func TestDocumentsAreSchemas(t *testing.T) {
	list, err := All()
	if err != nil || len(list) < 25 {
		t.Fatalf("%d schemas: %v", len(list), err)
	}
	for _, s := range list {
		text, ok, err := Document(s.ID)
		if !ok || err != nil {
			t.Errorf("%s: %v, %v", s.ID, ok, err)
			continue
		}
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Errorf("%s: %v", s.Name, err)
			continue
		}
		object := doc.(map[string]any)
		c := jsonschema.NewCompiler()
		c.UseLoader(jsonschema.SchemeURLLoader{}) // nothing is fetched from anywhere
		id, _ := object["$id"].(string)
		if err := c.AddResource(id, doc); err != nil {
			t.Errorf("%s: %v", s.Name, err)
		}
		if _, err := c.Compile(id); err != nil {
			t.Errorf("%s: %v", s.Name, err)
		}
		if !strings.HasPrefix(s.ID, "wheatear."+s.Name+"/") || s.Title == "" || !strings.HasSuffix(id, strings.TrimPrefix(s.ID, "wheatear.")) ||
			object["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
			t.Errorf("%s calls itself %s (%s): %q", s.Name, s.ID, id, s.Title)
		}
		strict(t, s.Name, doc)
	}
}

// strict holds every object with properties of its own to naming all of them, and to
// allowing no others.
func strict(t *testing.T, at string, v any) {
	switch v := v.(type) {
	case []any:
		for _, x := range v {
			strict(t, at, x)
		}
	case map[string]any:
		if _, described := v["properties"]; described && v["type"] != nil && v["additionalProperties"] != false && !strings.HasSuffix(at, ".result") && !strings.Contains(at, ".then.") {
			t.Errorf("%s lets other keys pass", at)
		}
		for key, x := range v {
			strict(t, at+"."+key, x)
		}
	}
}

func TestNoSuchSchema(t *testing.T) {
	for _, name := range []string{"", "nothing", "../measure", "wheatear./1"} {
		if _, ok, err := Document(name); ok || err != nil {
			t.Errorf("%q: %v, %v", name, ok, err)
		}
	}
}

// own are documents by which the program talks to itself: what it goes on with after an
// interruption, and what the interface of the page says of its own (openapi.json).
var own = []string{
	"wheatear.sweep-state/1", "wheatear.bench/1", "wheatear.bench-sweep/1", "wheatear.calibration-under-way/1", "wheatear.sorting/2",
	"wheatear.bench-sorting/2",
	"wheatear.state/1", "wheatear.live/1",
}

// Whatever the program's sources call a document is published, but for its own.
func TestEveryDocumentIsPublished(t *testing.T) {
	named := regexp.MustCompile(`"(wheatear\.[a-z.-]+/[0-9]+)"`)
	root := filepath.Join("..", "..", "..", "..")
	seen := 0
	err := filepath.WalkDir(root, func(name string, d os.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") || strings.Contains(name, "clitest") {
			return err
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		for _, m := range named.FindAllSubmatch(text, -1) {
			seen++
			if id := string(m[1]); !published(t, id) && !slices.Contains(own, id) {
				t.Errorf("%s: %s has no schema in documents", name, id)
			}
		}
		return nil
	})
	if err != nil || seen < 25 {
		t.Errorf("%d documents seen: %v", seen, err)
	}
}

func published(t *testing.T, id string) bool {
	list, err := All()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		if s.ID == id {
			return true
		}
	}
	return false
}

// The codes of findings are those of the library.
func TestFindingCodes(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "..", "..", "lockin", "finding", "finding.go"))
	if err != nil {
		t.Fatal(err)
	}
	codes := regexp.MustCompile(`Code = "([a-z-]+)"`).FindAllSubmatch(text, -1)
	if len(codes) < 20 {
		t.Fatalf("%d codes", len(codes))
	}
	for _, m := range codes {
		if !bytes.Contains(shared, []byte(`"`+string(m[1])+`"`)) {
			t.Errorf("%s is not in the schema", m[1])
		}
	}
}

// Every document is written by a command in the scripts, which hold it to its schema; the
// demo, which takes long, is held to it where its table is written.
func TestEveryDocumentIsTried(t *testing.T) {
	scripts, err := filepath.Glob(filepath.Join("..", "..", "testdata", "script", "*.txtar"))
	if err != nil {
		t.Fatal(err)
	}
	var all []byte
	for _, name := range scripts {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, text...)
	}
	elsewhere := map[string]string{
		"demo": "", "calibration": "conforms cal.json", "verified": "conforms rig.verified.json", "run": "rec/open-1.json", "recordings": "rec/manifest.json",
		"notebook.document": "conforms all.jsonl", "notebook.entry": "conforms all.jsonl", "watch": `"schema":"wheatear.watch/1"`,
	}
	list, err := All()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		where, there := elsewhere[s.Name]
		if !there {
			where = "json stdout " + s.ID + " "
		}
		if !bytes.Contains(all, []byte(where)) && !bytes.Contains(all, []byte(strings.TrimSpace(where)+"\n")) {
			t.Errorf("no script has %q", where)
		}
	}
}
