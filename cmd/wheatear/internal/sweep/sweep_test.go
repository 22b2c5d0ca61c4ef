package sweep

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/uncertain"
)

// full is a state with one point that has everything and one that has nothing.
func full() *State {
	at := 0.25
	inf, nan := math.Inf(1), math.NaN()
	q := func(v float64) uncertain.Quantity {
		return uncertain.Quantity{Value: v, U: v / 300, Low: v * 0.99, High: v * 1.01}
	}
	r := impedance.Reading{
		FreqHz: q(1000.1), State: impedance.OK, Re: q(1. / 3), Im: q(1592), Correlation: -0.2, Modulus: q(1592), Phase: q(1.5),
		Y:         impedance.Admittance{G: q(1e-6), B: q(6e-4), Modulus: q(6e-4)},
		Series:    impedance.Equivalent{R: q(0.3), C: q(1e-7), L: uncertain.Absent()},
		Parallel:  impedance.Equivalent{R: uncertain.Quantity{Value: nan, U: nan, Low: 1e6, High: inf}, C: q(1e-7), L: uncertain.Absent()},
		Q:         uncertain.Quantity{Value: nan, U: nan, Low: 100, High: inf},
		D:         uncertain.Quantity{Value: 1e-4, U: 1e-4, Low: 0, High: 3e-4},
		Dominance: impedance.Dominance{Kind: impedance.Capacitor, Likeliest: impedance.Capacitor, Confidence: 1},
		Fitting:   impedance.Fitting{Circuit: impedance.EitherEquivalent, Reason: impedance.ReasonAgree}, Hint: "look elsewhere", Passivity: 0.7,
	}
	void := &fixture.Corrected{NominalHz: 2000, Reading: impedance.Void(uncertain.Absent()), Level: fixture.PartLevel{VoltRMS: nan, AmpereRMS: nan},
		Findings: []finding.Finding{{Code: finding.Clipped, Severity: finding.Invalid, File: "b.wav", Channel: 2, FreqHz: 2000, AtS: &at, Detail: "flat", Advice: "less"}}}
	return &State{
		Jig: NewFile("jig.toml", []byte("a")), Calibration: NewFile("cal.json", []byte("b")), Part: "film", Level: &fixture.Level{Value: 0.2, Volts: true},
		To: 0.002, WithinS: 5, FrequenciesHz: []float64{1000, 2000, 4000}, SignalS: 3.25, UnreachedCount: 1,
		Points: []*Point{
			{Corrected: &fixture.Corrected{NominalHz: 1000, Reading: r, Trusted: true, Level: fixture.PartLevel{VoltRMS: 0.1, AmpereRMS: 1e-4}}, Files: []string{"a.wav", "a2.wav"}},
			{Corrected: void, Files: []string{"b.wav"}},
		},
	}
}

// What comes back from a file is what was written: the same text again, and in
// the points the same bits.
func TestStateRoundTrip(t *testing.T) {
	want := full()
	text, err := want.Encode()
	if err != nil {
		t.Fatal(err)
	}
	got, err := Decode("s.json", text)
	if err != nil {
		t.Fatal(err)
	}
	again, err := got.Encode()
	if err != nil || string(again) != string(text) {
		t.Errorf("%v: the second file differs\n%s\nfrom the first\n%s", err, again, text)
	}
	if !reflect.DeepEqual(got.Points[0].Reading.Modulus, want.Points[0].Reading.Modulus) || got.Points[0].Reading.Dominance != want.Points[0].Reading.Dominance ||
		got.Points[0].Reading.Fitting != want.Points[0].Reading.Fitting || !math.IsInf(got.Points[0].Reading.Q.High, 1) || !math.IsNaN(got.Points[0].Reading.Q.Value) {
		t.Errorf("got %+v", got.Points[0].Reading)
	}
	if !reflect.DeepEqual(got.Points[1].Findings, want.Points[1].Findings) || !got.Points[1].Reading.Modulus.IsAbsent() {
		t.Errorf("got %+v", got.Points[1].Corrected)
	}
	if f, ok := got.Next(); !ok || f != 4000 {
		t.Errorf("next is %g, %t", f, ok)
	}
	got.Points = append(got.Points, got.Points[0])
	if _, ok := got.Next(); ok {
		t.Error("a finished sweep has a next point")
	}
}

func TestStateRefuses(t *testing.T) {
	text, err := full().Encode()
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string][2]string{
		"another schema":    {"sweep-state/1", "sweep-state/9"},
		"no jig":            {`"file": "jig.toml"`, `"file": ""`},
		"other frequencies": {"1000,", "1001,"},
		"negative":          {"4000", "-4000"},
		"cut":               {`"points": [`, `"points": `},
		"too many points":   {"1000,\n  2000,\n  4000", "1000"},
	} {
		bad := strings.Replace(string(text), change[0], change[1], 1)
		if bad == string(text) {
			t.Fatalf("%s: nothing was changed", name)
		}
		if _, err := Decode("s.json", []byte(bad)); err == nil || !strings.Contains(err.Error(), "s.json") {
			t.Errorf("%s: got error %v", name, err)
		}
	}
}

func TestFileCheck(t *testing.T) {
	f := NewFile("jig.toml", []byte("one"))
	if err := f.Check([]byte("one")); err != nil {
		t.Error(err)
	}
	if err := f.Check([]byte("two")); err == nil || !strings.Contains(err.Error(), "jig.toml has changed") {
		t.Errorf("got %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	text, err := full().Encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := Decode("s.json", text)
		if err != nil {
			return
		}
		if _, err := s.Encode(); err != nil {
			t.Errorf("decoded, but not encoded: %v", err)
		}
	})
}

func requests(t testing.TB, text string) []stimulus.ToneRequest {
	t.Helper()
	found, err := parts.ParseFrequencies(text)
	if err != nil {
		t.Fatal(err)
	}
	var out []stimulus.ToneRequest
	for _, r := range found {
		out = append(out, stimulus.ToneRequest{FreqHz: r.FreqHz, Movable: r.Movable})
	}
	return out
}

// Points rise, stay near where they were asked for, and keep clear of the mains
// where they can.
func TestPlace(t *testing.T) {
	for _, text := range []string{"20..20k/31", "20..20k/200", "10..20k/700", "48..52/9", "1k"} {
		asked := requests(t, text)
		got, err := Place(48000, 50, asked)
		if err != nil {
			t.Fatal(err)
		}
		for i, f := range got {
			if i > 0 && !(f > got[i-1]) {
				t.Errorf("%s: point %d at %g Hz after %g Hz", text, i, f, got[i-1])
			}
			if math.Abs(f/asked[i].FreqHz-1) > MaxMove*1.001 || !asked[i].Movable && f != asked[i].FreqHz {
				t.Errorf("%s: point %d at %g Hz, asked for at %g Hz", text, i, f, asked[i].FreqHz)
			}
		}
		if text == "20..20k/31" {
			for _, f := range got {
				if off := math.Abs(math.Remainder(f, 50)); f > 200 && off < 3.9 {
					t.Errorf("%g Hz is %.1f Hz from a multiple of the mains", f, off)
				}
			}
		}
	}
}

// Calibrated frequencies are taken where near, and none twice.
func TestNear(t *testing.T) {
	coarse := []float64{20.3, 25.4, 31, 990, 1000, 1010, 19900}
	got := Near(requests(t, "20..20k/31"), coarse)
	if got[0] != (stimulus.ToneRequest{FreqHz: 20.3}) || got[17].FreqHz != 1000 || got[30].FreqHz != 19900 || !got[15].Movable {
		t.Errorf("got %v", got)
	}
	if got := Near(requests(t, "1005"), coarse); got[0].FreqHz != 1005 {
		t.Errorf("a frequency that is not to be moved went to %g Hz", got[0].FreqHz)
	}
	rapid.Check(t, func(t *rapid.T) {
		calibrated := rapid.SliceOfN(rapid.Float64Range(20, 20000), 0, 40).Draw(t, "calibrated")
		text := rapid.SampledFrom([]string{"20..20k/31", "20..20k/200", "100..200/50"}).Draw(t, "at")
		found, err := parts.ParseFrequencies(text)
		if err != nil {
			t.Fatal(err)
		}
		var asked []stimulus.ToneRequest
		for _, r := range found {
			asked = append(asked, stimulus.ToneRequest{FreqHz: r.FreqHz, Movable: r.Movable})
		}
		got := Near(asked, calibrated)
		for i := 1; i < len(got); i++ {
			if !(got[i].FreqHz > got[i-1].FreqHz) {
				t.Fatalf("%g Hz after %g Hz", got[i].FreqHz, got[i-1].FreqHz)
			}
		}
	})
}

func TestPerDecade(t *testing.T) {
	for _, c := range []struct {
		low, high, per float64
		want           int
	}{{20, 20e3, 10, 31}, {1000, 10e3, 1, 2}, {1000, 1100, 3, 2}, {10, 1e5, 12, 49}} {
		if got := PerDecade(c.low, c.high, c.per); got != c.want {
			t.Errorf("%g to %g with %g per decade: got %d, want %d", c.low, c.high, c.per, got, c.want)
		}
	}
}
