package html

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"example.org/wheatear/lockin/finding"
)

func sample() *sheet {
	return &sheet{
		Title: "part <script>alert(1)</script>", About: []string{"kitchen-table jig & more"}, Verdict: "ALIKE",
		Sections: []section{
			{Heading: "Table", Table: &table{Head: []string{"", "value"}, Rows: [][]string{{"C", "220 nF ± 1 nF"}}}},
			{Drawing: drawing{SVG: []byte("<?xml version=\"1.0\"?>\n<!-- x -->\n<svg width=\"10\" height=\"10\" xmlns=\"http://www.w3.org/2000/svg\"><path d=\"M0 0\"/></svg>\n"), Shows: "a \"picture\""}},
			{Findings: []finding.Finding{{Code: finding.Hum, Severity: finding.Note, File: "<b>", Detail: "50 Hz", Advice: "shorter leads"}}},
			{Lines: []string{"a.wav", "</pre><img src=x>"}},
		},
		Made: "by a test",
	}
}

// A report is well-formed, loads nothing from elsewhere, runs nothing, and shows
// foreign text as text.
func TestReportStandsAlone(t *testing.T) {
	var b bytes.Buffer
	if err := pages.Execute(&b, sample()); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for _, banned := range []string{"<script", " src=\"", "<link", "@import", "url(", "<img", "<b>", "<?xml"} {
		if strings.Contains(text, banned) {
			t.Errorf("%q is in it", banned)
		}
	}
	for _, want := range []string{"&lt;script&gt;", "kitchen-table jig &amp; more", "<svg", "220 nF ± 1 nF", "note: hum", "shorter leads", "ALIKE"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in it", want)
		}
	}
	d := xml.NewDecoder(strings.NewReader(text))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

func TestInline(t *testing.T) {
	for in, want := range map[string]string{"": "", "<svg": "", "x<svg>y</svg>z": "<svg>y</svg>"} {
		if got := string(inline([]byte(in))); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}
