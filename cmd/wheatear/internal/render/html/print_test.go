package html

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/uncertain"
)

var soak = flag.Bool("soak", false, "print with a browser")

// Thirty-one readings, a drawing, findings and what they rest on take two sheets of A4.
func TestSweepTakesTwoSheets(t *testing.T) {
	browser, err := exec.LookPath("chromium")
	if err != nil || !*soak {
		t.Skip("only with -soak, and where there is chromium to print with")
	}
	lopsided := block.Of(uncertain.Quantity{Value: 100.1e-9, U: 4e-9, Low: 85.3e-9, High: 104.3e-9}, "F")
	readings := block.Table{Columns: []block.Column{{Name: "frequency"}, {Name: "capacitance in series"}, {Name: "|Z|"}, {Name: "phase"}, {Name: "ESR"}}}
	curve := plot.Series{Name: "reading", Style: plot.Dots}
	for i := range 31 {
		hz := 20 * math.Pow(10, float64(i)/10)
		readings.Rows = append(readings.Rows, block.Row{Cells: []block.Value{block.PlaceHz(hz), lopsided, lopsided, lopsided, lopsided}})
		curve.X, curve.Y = append(curve.X, hz), append(curve.Y, plot.Exactly([]float64{1 / hz})...)
	}
	chart := &plot.Chart{Title: "part", X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "|Z|", Unit: "Ω", Log: true}, Series: []plot.Series{curve}}, {Y: plot.Scale{Name: "C", Unit: "F"}, Series: []plot.Series{curve}}}}
	var findings block.Findings
	for i := range 4 {
		findings.List = append(findings.List, block.Finding{Code: finding.Uncalibrated, Severity: finding.Warning, Count: 31, Detail: block.Say("%v what is not known of reference, inputs and leads is in the uncertainty", i),
			Where: []block.Text{block.Say("at 100 Hz"), block.Say("at 200 Hz"), block.Say("at 300 Hz")}, Advice: block.Say("record an open, a short and a load, and calibrate")})
	}
	circuit := block.Figures{Title: "Circuit C + R", List: []block.Figure{{Name: "C", Value: lopsided}, {Name: "R", Value: lopsided}}}
	var rests block.Provenance
	for i := range 6 {
		rests.List = append(rests.List, block.Figure{Name: fmt.Sprint("basis ", i), Value: block.Word("simulated bench")})
	}
	told := []block.Block{block.Headline{Title: block.Say("part: 31 points from 20 Hz to 20 kHz, all tones at once, 1.51 s of recording")}, readings,
		block.Chart{Shows: "Impedance over frequency.", Draw: func(w io.Writer, f plot.Format) error { return plot.DrawChart(w, chart, f) }},
		circuit, block.Paragraphs{Text: []block.Text{block.Say("A series circuit agrees with the sweep within the uncertainty of the readings")}}, findings, rests}
	var page bytes.Buffer
	if err := Write(&page, told, time.Now()); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "sweep.html"), filepath.Join(dir, "sweep.pdf")
	if err := os.WriteFile(in, page.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	if text, err := exec.CommandContext(ctx, browser, "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+dir, "--print-to-pdf="+out, in).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	pdf, err := os.ReadFile(out)
	if sheets := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1)); err != nil || sheets < 1 || sheets > 2 {
		t.Errorf("%d sheets, %v", sheets, err)
	}
}
