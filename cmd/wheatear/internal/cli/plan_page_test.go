package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/demo"
)

var update = flag.Bool("update", false, "rewrite the documents that the tests of the page show")

// planDocument is what the command prints for an electrolytic with the jig of the demo.
func planDocument(t *testing.T, more ...string) []byte {
	t.Helper()
	t.Setenv("WHEATEAR_NOTEBOOK", "off")
	jig := filepath.Join(t.TempDir(), "jig.toml")
	if err := os.WriteFile(jig, demo.Jig, 0o666); err != nil {
		t.Fatal(err)
	}
	var out, talk bytes.Buffer
	args := append([]string{"plan", "--jig", jig, "--expect", "47u", "--kind", "aluminium", "--want", "0.05%", "--drawer", "10,100,1k", "--json", "--grid", "--aside"}, more...)
	if status := Run(context.Background(), args, strings.NewReader(""), &out, &talk); status != 0 {
		t.Fatalf("status %d: %s", status, talk.String())
	}
	return out.Bytes()
}

// The document that the tests of the page show is what the command prints.
func TestPlanDocumentOfThePage(t *testing.T) {
	const file = "../page/testdata/plan.json"
	text := planDocument(t)
	if *update {
		if err := os.WriteFile(file, text, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := clitest.ConformsText(text); err != nil {
		t.Error(err)
	}
	kept, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var got, want any
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(kept, &want); err != nil {
		t.Fatal(err)
	}
	if at := differ(got, want, "document"); at != "" {
		t.Errorf("%s: another than in %s; -update rewrites it", at, file)
	}
}

// differ says where documents differ: numbers by more than a hundredth (intervals are
// Monte Carlo runs of seeds that stay, on machines that round otherwise).
func differ(got, want any, at string) string {
	switch w := want.(type) {
	case map[string]any:
		g, _ := got.(map[string]any)
		if len(g) != len(w) {
			return at
		}
		for k := range w {
			if d := differ(g[k], w[k], at+"."+k); d != "" {
				return d
			}
		}
	case []any:
		g, _ := got.([]any)
		if len(g) != len(w) {
			return at
		}
		for i := range w {
			if d := differ(g[i], w[i], fmt.Sprintf("%s.%d", at, i)); d != "" {
				return d
			}
		}
	case float64:
		const near, nothing = 0.01, 1e-9 // shares below a billionth are rounding
		if g, ok := got.(float64); !ok || math.Abs(g-w) > near*math.Abs(w)+nothing {
			return fmt.Sprintf("%s: %v, was %v", at, got, w)
		}
	default:
		if got != want {
			return fmt.Sprintf("%s: %v, was %v", at, got, want)
		}
	}
	return ""
}

// pageOfSimulated is the page of the program with the simulated jig in use.
func pageOfSimulated(t *testing.T) *served {
	t.Helper()
	s := serving(t, "--listen", "127.0.0.1:0", "--folder", t.TempDir())
	s.asks(t, "cautions", `{}`)
	s.asks(t, "jig", `{"key": "simulated"}`)
	return s
}

func (s *served) asks(t *testing.T, path, body string) string {
	t.Helper()
	status, text := fetch(t, "POST", s.url+"api/"+path, body)
	if status != http.StatusOK {
		t.Fatalf("%s: %d %s", path, status, text)
	}
	return text
}

// planOf is what of the document the tests look at.
type planOf struct {
	Meant    string
	Wanted   float64
	Remedies []struct{ Reached bool }
	Reach    *struct {
		References []struct {
			ReferenceOhm float64 `json:"reference_ohm"`
		}
	}
	Choices []struct {
		ReferenceOhm float64 `json:"reference_ohm"`
		HalfWidth    float64 `json:"half_width"`
		Reached      bool
		At           string
		LevelAsked   string `json:"level_asked"`
		Changes      []string
	}
}

// plans has the page plan, and waits for what comes of it.
func (s *served) plans(t *testing.T, body string) (status int, p planOf, talk string) {
	t.Helper()
	began := time.Now()
	s.asks(t, "tasks/plan", body)
	for time.Since(began) < time.Minute {
		_, state := fetch(t, "GET", s.url+"api/state", "")
		if !strings.Contains(state, `"owner":null`) {
			time.Sleep(20 * time.Millisecond)
			continue
		}
		_, text := fetch(t, "GET", s.url+"api/tasks/plan", "")
		var task struct {
			Status int
			Result *planOf
			Talk   string
		}
		if err := json.Unmarshal([]byte(text), &task); err != nil {
			t.Fatal(err)
		}
		if task.Result != nil {
			p = *task.Result
		}
		return task.Status, p, task.Talk
	}
	t.Fatal("it does not end")
	return
}

// The page plans with the command itself: kind, wish and drawer reach it, what would
// help comes back, with chart and report; what is not understood is said.
func TestPlanByThePage(t *testing.T) {
	s := pageOfSimulated(t)
	status, p, talk := s.plans(t, `{"expect": "47u", "kind": "aluminium", "want": "0.05%", "drawer": "10,100"}`)
	if status != 0 || p.Wanted != 0.0005 || p.Meant != "a capacitor of 47 µF" || len(p.Choices) != 4 || p.Choices[0].Reached || len(p.Choices[0].Changes) == 0 {
		t.Fatalf("status %d, %+v, %s", status, p, talk)
	}
	if !slices.ContainsFunc(p.Remedies, func(r struct{ Reached bool }) bool { return r.Reached }) || p.Reach == nil || len(p.Reach.References) != 2 {
		t.Errorf("%+v", p)
	}
	for path, holds := range map[string]string{"chart": "<svg", "report": "Plan for 47u"} {
		if code, text := fetch(t, "GET", s.url+"api/tasks/plan/"+path, ""); code != http.StatusOK || !strings.Contains(text, holds) {
			t.Errorf("%s: %d", path, code)
		}
	}
	if status, _, talk := s.plans(t, `{"expect": "47u", "kind": "resistor"}`); status != int(Usage) || !strings.Contains(talk, "--expect") {
		t.Errorf("a resistor of 47 µF: status %d, %s", status, talk)
	}
	s.stop()
}
