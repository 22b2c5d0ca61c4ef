package report

import (
	"bytes"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
)

func planned(t *testing.T, text string, wish predict.Wish) *Planning {
	t.Helper()
	jig, err := fixture.ParseJig("bench", []byte("channels = [\"total\", \"part\"]\nreference = \"1k\"\nreference_tolerance = \"0.1%\"\nfull_scale = \"2V\"\nmains = 50\n"))
	if err != nil {
		t.Fatal(err)
	}
	s := &predict.Setup{Jig: jig, Card: predict.Card{RateHz: 48000, Seconds: 1, Peak: 0.25, NoiseRMS: [2]float64{1e-5, 1e-5}}}
	readings, err := parts.Read(text, parts.None)
	if err != nil {
		t.Fatal(err)
	}
	if wish.Part, err = predict.NewPart(parts.Likeliest(readings, text), ""); err != nil {
		t.Fatal(err)
	}
	plan, err := s.Plan(wish)
	if err != nil {
		t.Fatal(err)
	}
	return &Planning{Jig: jig, Text: text, Setup: s, Plan: plan, Reach: true}
}

// Within 80 columns, with the part in the picture from edge to edge where it is there.
func TestPlanningInLetters(t *testing.T) {
	for _, what := range []string{"4700u", "100p", "22uH", "1M", "R01"} {
		p := planned(t, what, predict.Wish{ReferenceOhm: []float64{10, 10e3}})
		var b bytes.Buffer
		if err := text.Write(&b, tell.Plan(document(t, p)), text.Look{}); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(b.String(), "\n") {
			if n := len([]rune(line)); n > 80 {
				t.Errorf("%s: %d columns: %s", what, n, line)
			}
		}
		_, picture, _ := strings.Cut(b.String(), "o the part")
		if what != "R01" && strings.Count(picture, "o") < 40 || !strings.Contains(picture, "#") || !strings.Contains(picture, "+") {
			t.Errorf("%s:\n%s", what, picture)
		}
	}
}

// The picture shows the references that serve best, whatever else is in the drawer.
func TestPlanningChart(t *testing.T) {
	p := planned(t, "1", predict.Wish{ReferenceOhm: []float64{100e3, 10e3, 1e3, 100, 10, 33}})
	c := tell.Reach("bench", document(t, p).Reach)
	const most = 4
	if len(c.Panels) != most || !strings.Contains(c.Panels[0].Y.Name, "10\u00a0Ω") || strings.Contains(c.Panels[most-1].Y.Name, "100\u00a0kΩ") {
		t.Errorf("%d panels, from %q", len(c.Panels), c.Panels[0].Y.Name)
	}
	for _, format := range []plot.Format{plot.SVG, plot.PNG} {
		var b bytes.Buffer
		if err := plot.DrawChart(&b, c, format); err != nil || b.Len() < 1000 {
			t.Errorf("%v: %d bytes, %v", format, b.Len(), err)
		}
	}
}

func TestPlanningJSON(t *testing.T) {
	p := planned(t, "10H", predict.Wish{FreqsHz: []float64{1025}, Want: 1e-9})
	doc := document(t, p)
	sum := 0.0
	for _, l := range doc.Choices[0].Limits {
		sum += l.Share
	}
	if doc.Wanted == nil || doc.Choices[0].Reached || doc.Choices[0].Standard != nil || sum < 0.999 || sum > 1.001 {
		t.Errorf("%+v", doc)
	}
}

func document(t *testing.T, p *Planning) *result.Plan {
	t.Helper()
	doc, err := p.Document()
	if err != nil {
		t.Fatal(err)
	}
	return doc
}
