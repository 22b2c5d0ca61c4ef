package report

import (
	"bytes"
	rfc4180 "encoding/csv"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/wheatear/cmd/wheatear/internal/render/csv"
	"example.org/wheatear/cmd/wheatear/internal/render/text"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// sweepOfAll holds a reading that is good, one beyond the jig, and one that every
// finding there is forbids to trust.
func sweepOfAll() *Sweep {
	inf, nan := math.Inf(1), math.NaN()
	good := impedance.Void(about(1000.1, 0.01))
	good.State, good.Modulus, good.Phase = impedance.OK, about(1592, 1.6), about(-math.Pi/2, 0.001)
	good.Series.C, good.D = about(100e-9, 0.1e-9), uncertain.Quantity{Value: 1e-4, U: 1e-4, Low: 0, High: 3e-4}
	good.Dominance = impedance.Dominance{Kind: impedance.Capacitor, Likeliest: impedance.Capacitor, Confidence: 1}
	open := impedance.Void(about(2000, 0.02))
	open.State, open.Modulus = impedance.Open, uncertain.Quantity{Value: nan, U: nan, Low: 3e6, High: inf}
	s := &Sweep{
		Measurement: Measurement{Jig: &fixture.Jig{Name: "jig, with a comma and a \" quote"}, Calibration: "", Files: []string{"a.wav"}},
		Part:        "part", Asked: 5, SignalS: 4.25,
	}
	spoilt := &fixture.Corrected{NominalHz: 12345.678, Reading: impedance.Void(uncertain.Absent()), Level: fixture.PartLevel{VoltRMS: nan, AmpereRMS: nan}}
	for _, c := range []finding.Code{
		finding.NoSignal, finding.Clipped, finding.Dropout, finding.Mono, finding.Swapped, finding.Inverted, finding.OffFrequency, finding.Clock, finding.Hum,
		finding.Interference, finding.Noise, finding.Nonlinear, finding.Unsettled, finding.AutoGain, finding.JigChanged, finding.Resampled, finding.Offset,
		finding.NotFinite, finding.Uncalibrated, finding.Extrapolated, finding.Stale, finding.BeyondRange, finding.NonPassive,
	} {
		spoilt.Findings = append(spoilt.Findings, finding.Finding{Code: c, Severity: finding.Invalid, File: "a.wav", Detail: "seen", Advice: "mend " + string(c)})
	}
	for _, c := range []*fixture.Corrected{
		{NominalHz: 1000, Reading: good, Trusted: true, Level: fixture.PartLevel{VoltRMS: 0.1, AmpereRMS: 1e-4}},
		{NominalHz: 2000, Reading: open, Trusted: true, Level: fixture.PartLevel{VoltRMS: nan, AmpereRMS: nan}},
		spoilt,
	} {
		s.Readings = append(s.Readings, &Reading{Corrected: c})
		s.AddFindings(c.Findings)
	}
	return s
}

func about(v, half float64) uncertain.Quantity {
	return uncertain.Quantity{Value: v, U: half / 1.96, Low: v - half, High: v + half}
}

// A reader of RFC 4180 gets the numbers back, exactly; what does not exist is
// empty, and the state beside it says why.
func TestSweepCSV(t *testing.T) {
	var b bytes.Buffer
	if err := csv.Write(&b, tell.Sweep(sweepOfAll().Document())); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), "\r\n"); n != 4 || strings.Count(b.String(), "\n") != n {
		t.Errorf("%d lines end in CR LF, want 4", n)
	}
	rows, err := rfc4180.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		if _, twice := at[name]; twice {
			t.Errorf("%s is there twice", name)
		}
		at[name] = i
	}
	for _, c := range []struct {
		row  int
		name string
		want string
	}{
		{1, "frequency_nominal_hz", "1000"}, {1, "state", "ok"}, {1, "trusted", "true"}, {1, "dominant", "capacitor"},
		{1, "z_modulus_ohm", "1592"}, {1, "z_modulus_high_ohm", "1593.6"}, {1, "series_c_f", "1e-07"}, {1, "series_l_h", ""}, {1, "part_v_rms", "0.1"}, {1, "findings", ""},
		{2, "state", "open"}, {2, "trusted", "true"}, {2, "z_modulus_ohm", ""}, {2, "z_modulus_u_ohm", ""}, {2, "z_modulus_low_ohm", "3e+06"}, {2, "z_modulus_high_ohm", ""},
		{3, "state", "no-signal"}, {3, "trusted", "false"}, {3, "z_modulus_ohm", ""}, {3, "z_modulus_low_ohm", ""}, {3, "part_v_rms", ""},
	} {
		i, ok := at[c.name]
		if !ok {
			t.Fatalf("no column %s in %v", c.name, rows[0])
		}
		if got := rows[c.row][i]; got != c.want {
			t.Errorf("row %d: %s is %q, want %q", c.row, c.name, got, c.want)
		}
	}
	for _, f := range sweepOfAll().Findings {
		if !strings.Contains(" "+rows[3][at["findings"]]+" ", " "+string(f.Code)+" ") {
			t.Errorf("%s is not among the findings %q", f.Code, rows[3][at["findings"]])
		}
	}
}

// Nobody drops a finding, and everything fits.
func TestSweepTableAndJSON(t *testing.T) {
	var table, doc bytes.Buffer
	s := sweepOfAll()
	if err := text.Write(&table, tell.Sweep(s.Document()), text.Look{}); err != nil {
		t.Fatal(err)
	}
	if err := result.Write(&doc, s.Document()); err != nil {
		t.Fatal(err)
	}
	for _, f := range s.Findings {
		if !strings.Contains(table.String(), "invalid  "+string(f.Code)) || !strings.Contains(doc.String(), `"`+string(f.Code)+`"`) {
			t.Errorf("%s is missing", f.Code)
		}
	}
	for _, want := range []string{"part: 3 of 5 points from 1 kHz to 12.346 kHz, 4.25 s of recording", "100.00 ± 0.10 nF", "open, |Z| > 3.0 MΩ", "refused: no-signal"} {
		if !strings.Contains(strings.Join(strings.Fields(table.String()), " "), want) {
			t.Errorf("%q is missing in\n%s", want, table.String())
		}
	}
	for _, line := range strings.Split(table.String(), "\n") {
		// The list of the codes that forbid to trust a reading is as long as it is.
		if utf8.RuneCountInString(line) > text.Usual && !strings.Contains(line, "refused") {
			t.Errorf("too wide: %s", line)
		}
	}
	var back struct {
		Part     string
		Asked    int      `json:"points_asked"`
		SignalS  *float64 `json:"signal_s"`
		Readings []struct{ Trusted bool }
	}
	if err := json.Unmarshal(doc.Bytes(), &back); err != nil || back.Part != "part" || back.Asked != 5 || *back.SignalS != 4.25 || len(back.Readings) != 3 || back.Readings[2].Trusted {
		t.Errorf("%v: %+v", err, back)
	}
}
