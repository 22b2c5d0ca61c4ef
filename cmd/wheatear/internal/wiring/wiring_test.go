package wiring

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/wheatear/lockin/fixture"
)

// Each pair of things that two channels can carry, whatever the order and signs,
// has a wiring, and each wiring's channels define a ratio.
func TestEveryPairIsDrawn(t *testing.T) {
	drawn := map[[2]fixture.Carries]bool{}
	for _, w := range All() {
		if _, err := fixture.NewPair(w.First, w.Second); err != nil {
			t.Errorf("%s: %v", w.Title, err)
		}
		drawn[[2]fixture.Carries{w.First.Carries, w.Second.Carries}] = true
	}
	for _, a := range fixture.Meanings() {
		for _, b := range fixture.Meanings() {
			if a.Carries == b.Carries {
				continue
			}
			if !drawn[[2]fixture.Carries{a.Carries, b.Carries}] && !drawn[[2]fixture.Carries{b.Carries, a.Carries}] {
				t.Errorf("no wiring for %s and %s", a.Name, b.Name)
			}
		}
	}
}

func TestTextBeginsWithCautions(t *testing.T) {
	var b bytes.Buffer
	if err := Text(&b); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if !strings.HasPrefix(text, "CAUTIONS") {
		t.Error("the cautions do not come first")
	}
	for _, word := range []string{"Discharge", "unplugged", "mains", "loud", "phantom", "plug-in power", "licensed", "local codes"} {
		joined := strings.Join(strings.Fields(text), " ")
		if at := strings.Index(joined, word); at < 0 || at > strings.Index(joined, "WHAT IS NEEDED") {
			t.Errorf("the cautions do not speak of %q", word)
		}
	}
	for _, line := range strings.Split(text, "\n") {
		if n := utf8.RuneCountInString(line); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	for _, w := range All() {
		if want := fmt.Sprintf("channels = [%q, %q]", w.First, w.Second); !strings.Contains(text, want) {
			t.Errorf("%s is missing", want)
		}
	}
}

// label is a text in a drawing with the room it takes, generously.
type label struct {
	text                     string
	left, right, top, bottom float64
}

// labels reads the drawing back.
func labels(t *testing.T, drawing []byte) []label {
	t.Helper()
	var doc struct {
		Texts []struct {
			X      float64 `xml:"x,attr"`
			Y      float64 `xml:"y,attr"`
			Anchor string  `xml:"text-anchor,attr"`
			Class  string  `xml:"class,attr"`
			Text   string  `xml:",chardata"`
		} `xml:"text"`
	}
	if err := xml.Unmarshal(drawing, &doc); err != nil {
		t.Fatal(err)
	}
	// Widths of a character, wide enough for any common sans-serif: common practice,
	// no source.
	perRune := map[string]float64{"": 8, "head": 12.5, "small": 7, "code": 9.2}
	var out []label
	for _, e := range doc.Texts {
		w := perRune[e.Class] * float64(utf8.RuneCountInString(e.Text))
		left := map[string]float64{"start": e.X, "middle": e.X - w/2, "end": e.X - w}[e.Anchor]
		out = append(out, label{e.Text, left, left + w, e.Y - 12, e.Y + 3})
	}
	return out
}

func TestDrawingsAreReadable(t *testing.T) {
	for _, w := range All() {
		var b bytes.Buffer
		if err := w.SVG(&b); err != nil {
			t.Fatal(err)
		}
		list := labels(t, b.Bytes())
		if len(list) < 12 {
			t.Errorf("%s: only %d labels", w.Title, len(list))
		}
		for i, a := range list {
			if a.left < 0 || a.right > canvasWidth || a.bottom > canvasHeight {
				t.Errorf("%s: %q lies outside: %+v", w.Title, a.text, a)
			}
			for _, c := range list[:i] {
				if a.left < c.right && c.left < a.right && a.top < c.bottom && c.top < a.bottom {
					t.Errorf("%s: %q lies on %q", w.Title, a.text, c.text)
				}
			}
		}
	}
}

// colour finds what is drawn in.
var colour = regexp.MustCompile(`(?:fill|stroke)[:=]"?#([0-9a-fA-F]+)`)

// Drawings print in grey: no colour but black, white and grey is named.
func TestDrawingsPrintInGrey(t *testing.T) {
	for _, w := range All() {
		var b bytes.Buffer
		if err := w.SVG(&b); err != nil {
			t.Fatal(err)
		}
		for _, hex := range colour.FindAllStringSubmatch(b.String(), -1) {
			if c := hex[1]; len(c) != 3 || c[0] != c[1] || c[1] != c[2] {
				t.Errorf("%s: colour %s", w.Title, hex[0])
			}
		}
		dec := xml.NewDecoder(&b)
		for {
			if _, err := dec.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", w.Title, err)
			}
		}
	}
}
