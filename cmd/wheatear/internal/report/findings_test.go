package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// every is one finding of each code, in each severity.
func every() []finding.Finding {
	codes := []finding.Code{
		finding.NoSignal, finding.Clipped, finding.Dropout, finding.Mono, finding.Swapped, finding.Inverted, finding.OffFrequency, finding.Clock,
		finding.Hum, finding.Interference, finding.Noise, finding.Nonlinear, finding.Unsettled, finding.AutoGain, finding.JigChanged, finding.Resampled,
		finding.Offset, finding.NotFinite, finding.Uncalibrated, finding.Extrapolated, finding.Stale, finding.BeyondRange, finding.NonPassive,
	}
	severities := []finding.Severity{finding.Note, finding.Warning, finding.Invalid}
	var out []finding.Finding
	for i, c := range codes {
		at := float64(i) / 10
		out = append(out, finding.Finding{
			Code: c, Severity: severities[i%3], File: "part.wav", Channel: 1 + i%2, FreqHz: 1000, AtS: &at,
			Detail: "what was seen of " + string(c), Advice: "what to do about " + string(c),
		})
	}
	return out
}

// TestEveryFindingIsTold feeds one of each code through what people and programs
// read: none may be lost, with its file, its detail and its advice.
func TestEveryFindingIsTold(t *testing.T) {
	m := &Measurement{Jig: &fixture.Jig{Name: "jig"}, Files: []string{"part.wav"}}
	r := &Reading{Corrected: &fixture.Corrected{NominalHz: 1000, Reading: impedance.Void(uncertain.Absent()), Findings: every()}}
	m.Readings = []*Reading{r}
	m.AddFindings(every())
	var terminal, document, standards, recording bytes.Buffer
	for _, err := range []error{
		text.Write(&terminal, tell.Measurement(m.Document()), text.Look{Full: true}), result.Write(&document, m.Document()), text.Write(&standards, tell.Calibration(result.NewCalibration(nil, every())), text.Look{}),
		text.Write(&recording, tell.Demodulation(&result.Demodulation{RateHz: 1, Findings: every()}), text.Look{}),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range every() {
		for name, out := range map[string]*bytes.Buffer{"measure": &terminal, "JSON": &document, "calibrate": &standards, "demodulate": &recording} {
			// Wrapped lines are joined before the look.
			said := strings.Join(strings.Fields(out.String()), " ")
			for _, want := range []string{string(f.Code), f.Detail, f.Advice} {
				if folded := f.Severity == finding.Note && (f.Code == finding.Clock || f.Code == finding.Hum || f.Code == finding.Resampled); folded && (name == "calibrate" || name == "demodulate") {
					want = string(f.Code)
				}
				if !strings.Contains(said, want) {
					t.Errorf("%s lacks %q", name, want)
				}
			}
		}
	}
	for _, line := range strings.Split(terminal.String(), "\n") {
		if n := utf8.RuneCountInString(line); n > text.Usual {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	var doc result.Measurement
	if err := json.Unmarshal(document.Bytes(), &doc); err == nil && len(doc.Readings[0].Findings) != len(every()) {
		t.Errorf("the reading names %d findings of %d", len(doc.Readings[0].Findings), len(every()))
	}
}

func TestFindingsGravestFirstAndTogether(t *testing.T) {
	var list []finding.Finding
	for i := range 9 {
		list = append(list, finding.Finding{Code: finding.Hum, Severity: finding.Note, File: fmt.Sprintf("%d.wav", i), Detail: "seen", Advice: "shorter leads"})
	}
	list = append(list, finding.Finding{Code: finding.Clock, Severity: finding.Note, Detail: "apart", Advice: "nothing to do"})
	for i := range 9 {
		at := float64(i)
		list = append(list, finding.Finding{Code: finding.Noise, Severity: finding.Warning, File: "0.wav", AtS: &at, Detail: "loud", Advice: "play louder"})
	}
	list = append(list, finding.Finding{Code: finding.Clipped, Severity: finding.Invalid, File: "0.wav", Channel: 2, Detail: "flat", Advice: "lower the level"})
	var b strings.Builder
	_ = text.Write(&b, []block.Block{tell.Findings(list)}, text.Look{}) // into memory
	want := `invalid  clipped in 0.wav channel 2: flat.
         → lower the level.
warning  noise: loud. Seen 9 times: in 0.wav at 0 s, in 0.wav at 1 s,
         in 0.wav at 2 s, in 0.wav at 3 s, in 0.wav at 4 s, and 4 more.
         → play louder.
note     corrected or removed: hum, clock.
`
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

func TestUntrustedHasNoFigures(t *testing.T) {
	reading := impedance.Void(uncertain.Absent())
	reading.State = impedance.OK
	reading.Re = uncertain.Quantity{Value: 1, U: 1, Low: -1, High: 3} // as if somebody forgot to take it out
	m := &Measurement{Jig: &fixture.Jig{Name: "jig"}, Files: []string{"a.wav"}, Readings: []*Reading{{Corrected: &fixture.Corrected{
		NominalHz: 1000, Reading: reading, Findings: []finding.Finding{{Code: finding.Clipped, Severity: finding.Invalid}},
		Level: fixture.PartLevel{VoltRMS: math.NaN(), AmpereRMS: math.NaN()},
	}}}}
	var b, j bytes.Buffer
	if err := text.Write(&b, tell.Measurement(m.Document()), text.Look{}); err != nil {
		t.Fatal(err)
	}
	if err := result.Write(&j, m.Document()); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "refused: clipped") || strings.ContainsAny(b.String(), "±Ω") {
		t.Errorf("a person sees\n%s", b.String())
	}
	if strings.Contains(j.String(), `"value"`) || !strings.Contains(j.String(), `"trusted": false`) {
		t.Errorf("a program sees\n%s", j.String())
	}
}
