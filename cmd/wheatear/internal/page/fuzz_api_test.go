package page

import (
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// asker makes up requests by the description of the interface: what it says that may be
// asked, and what it says that may not.
type asker struct {
	*rand.Rand
	doc   map[string]any
	calls []call
}

// call is one call of the description.
type call struct {
	method, path string
	parameters   []string // of the query
	body         any      // the schema; nil for none
}

func newAsker(t *testing.T, seed uint64) *asker {
	t.Helper()
	a := &asker{Rand: rand.New(rand.NewPCG(seed, 5))}
	if err := json.Unmarshal(document, &a.doc); err != nil {
		t.Fatal(err)
	}
	paths := a.doc["paths"].(map[string]any)
	for _, path := range slices.Sorted(maps.Keys(paths)) {
		for method, v := range paths[path].(map[string]any) {
			one, ok := v.(map[string]any)
			if !ok || path == "/api/events" { // a stream does not end
				continue
			}
			c := call{method: strings.ToUpper(method), path: path}
			list, _ := one["parameters"].([]any)
			for _, p := range list {
				if q := a.resolve(p); q["in"] == "query" {
					c.parameters = append(c.parameters, q["name"].(string))
				}
			}
			if body, ok := one["requestBody"].(map[string]any); ok {
				c.body = body["content"].(map[string]any)["application/json"].(map[string]any)["schema"]
			}
			a.calls = append(a.calls, c)
		}
	}
	slices.SortFunc(a.calls, func(x, y call) int { return strings.Compare(x.path+x.method, y.path+y.method) })
	return a
}

// resolve follows references within the document.
func (a *asker) resolve(v any) map[string]any {
	m, _ := v.(map[string]any)
	for {
		ref, ok := m["$ref"].(string)
		if !ok {
			return m
		}
		at := any(a.doc)
		for _, step := range strings.Split(strings.TrimPrefix(ref, "#/"), "/") {
			at = at.(map[string]any)[step]
		}
		m, _ = at.(map[string]any)
	}
}

// said are texts that people and programs put into fields.
var said = []string{"", "~1k", "1k", "1k,3k", "300..3k/4", "20..20k/31", "1e303", "-1", "NaN", "100u", "0", "1k/0.1%", "100nJ", "100n/5%", "470/1%", "E24", "1%,2%,5%",
	"timing-film", "open", "load", "short", "film", "simulated", "../../etc/passwd", "a\x00b", "<script>", "é\u2028\U0001F600", strings.Repeat("9", 400), strings.Repeat("k", 3000),
	"C", "Cs", "|Z|", "R + L", "Rp // (C + Rs + Ls)", "svg", "csv", "jsonl", "html", "json", "s1p", "png", "2", "1", "999999999999999999999", "-12dBFS", "0.1%", "30d", "2026-11-30", "part-1.wav",
	"identify", "level", "verify", "compare", "incircuit", "plan", "fit", "pass", "reading"}

var figures = []string{"0", "1", "-1", "2", "3", "1000", "0.5", "1e303", "-1e303", "1e-303", "1e400", "9007199254740993", "null", "true", `""`, "[]", "{}"}

func (a *asker) word() string { return said[a.IntN(len(said))] }

// value is JSON that a schema allows, mostly.
func (a *asker) value(schema any, deep int) string {
	s := a.resolve(schema)
	if a.IntN(12) == 0 || deep > 6 {
		return figures[a.IntN(len(figures))]
	}
	for _, key := range []string{"oneOf", "anyOf", "allOf"} {
		if list, ok := s[key].([]any); ok && len(list) > 0 {
			return a.value(list[a.IntN(len(list))], deep+1)
		}
	}
	if list, ok := s["enum"].([]any); ok && a.IntN(5) > 0 {
		text, _ := json.Marshal(list[a.IntN(len(list))])
		return string(text)
	}
	if v, ok := s["const"]; ok {
		text, _ := json.Marshal(v)
		return string(text)
	}
	kind := s["type"]
	if list, ok := kind.([]any); ok && len(list) > 0 {
		kind = list[a.IntN(len(list))]
	}
	switch kind {
	case "object":
		return a.object(s, deep)
	case "array":
		var items []string
		for range a.IntN(4) {
			items = append(items, a.value(s["items"], deep+1))
		}
		return "[" + strings.Join(items, ",") + "]"
	case "boolean":
		return []string{"true", "false"}[a.IntN(2)]
	case "integer", "number":
		return figures[a.IntN(len(figures))]
	case "null":
		return "null"
	}
	text, _ := json.Marshal(a.word())
	return string(text)
}

func (a *asker) object(s map[string]any, deep int) string {
	var fields []string
	properties, _ := s["properties"].(map[string]any)
	required, _ := s["required"].([]any)
	for _, name := range slices.Sorted(maps.Keys(properties)) {
		if a.IntN(2) == 0 || slices.Contains(required, any(name)) && a.IntN(8) > 0 {
			fields = append(fields, fmt.Sprintf("%q: %s", name, a.value(properties[name], deep+1)))
		}
	}
	if a.IntN(20) == 0 {
		fields = append(fields, `"colour": "red"`)
	}
	return "{" + strings.Join(fields, ", ") + "}"
}

// request makes one up.
func (a *asker) request() (method, path, body string) {
	c := a.calls[a.IntN(len(a.calls))]
	var steps []string
	for _, step := range strings.Split(c.path, "/") {
		if strings.HasPrefix(step, "{") {
			step = []string{"1", "2", "0", "-1", "999999999999999999999", url.PathEscape(a.word()), "part-timing-film-1.wav", "svg", "csv", "html"}[a.IntN(10)]
		}
		steps = append(steps, step)
	}
	path = strings.Join(steps, "/")
	query := url.Values{}
	for _, p := range c.parameters {
		if a.IntN(2) == 0 {
			query.Add(p, a.word())
		}
	}
	if len(query) > 0 {
		path += "?" + query.Encode()
	}
	if c.body != nil {
		body = a.value(c.body, 0)
		if a.IntN(25) == 0 && body != "" {
			at := a.IntN(len(body))
			body = body[:at] + string(rune(a.IntN(256))) + body[at:]
		}
	}
	return c.method, path, body
}

// Whatever is asked by the description, well or badly, and in whatever order, is answered
// or refused: the server is never at fault, and goes on.
func TestRequestsByTheDescription(t *testing.T) {
	n := 150
	if *soak {
		n = 20000
	}
	s := ready(t, Options{Notebook: filepath.Join(t.TempDir(), "n.db")})
	a := newAsker(t, 20261130)
	status := map[int]int{}
	for i := range n {
		method, path, body := a.request()
		got, text := s.call(method, path, body)
		status[got]++
		if got >= http.StatusInternalServerError {
			t.Errorf("%s %s %.300s: %d %.300s", method, path, body, got, text)
		}
		if i%10 == 9 { // or most would find the card taken
			s.call("POST", "/api/stop", "{}")
		}
		if i%50 == 0 {
			s.call("POST", "/api/cautions", "{}")
			s.call("POST", "/api/jig", `{"key": "simulated"}`)
		}
	}
	t.Logf("%d requests, answered with %v", n, status)
	if status[http.StatusOK] < n/20 || status[http.StatusBadRequest] < n/20 {
		t.Errorf("too few of them mean anything: %v", status)
	}
	s.call("POST", "/api/stop", "{}")
	for end := time.Now().Add(time.Minute); s.State().Owner != nil && time.Now().Before(end); {
		time.Sleep(10 * time.Millisecond)
	}
	if status, text := s.call("GET", "/api/state", ""); status != http.StatusOK {
		t.Errorf("at the end: %d %s", status, text)
	}
}
