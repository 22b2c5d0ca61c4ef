package impedance_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// R 200 kΩ across C 1 nF: Q is 1.257 at 1 kHz, so that the part is a capacitor there
// and a resistor at 100 Hz. The exact elements in parallel are those put in.
func TestMainOfALeakyCapacitor(t *testing.T) {
	at := func(freqHz float64) impedance.Reading {
		z := 1 / complex(1/200e3, 2*math.Pi*freqHz*1e-9)
		return derive(t, measured(z, 1, 1, freqHz, 1e-3), plain)
	}
	e, q := at(1000).Main()
	if e != (impedance.Element{Kind: impedance.Capacitor, Circuit: impedance.ParallelCircuit}) || math.Abs(q.Value-1e-9) > 1e-15 {
		t.Errorf("%s = %g at 1 kHz, want Cp = 1 nF", e.Symbol(), q.Value)
	}
	if e, q := e.Beside(at(1000)); e.Symbol() != "Rp" || math.Abs(q.Value-200e3) > 1e-3 {
		t.Errorf("beside it %s = %g, want Rp = 200 kΩ", e.Symbol(), q.Value)
	}
	// Q = ωRC of the parallel circuit is 1 at 1/(2π RC) = 795.8 Hz, and less below.
	if hz, below := e.TurnHz(at(1000)); math.Abs(hz-795.7747) > 0.01 || below {
		t.Errorf("turns at %g Hz, reactance leads below: %v", hz, below)
	}
	if e, _ := at(100).Main(); e.Kind != impedance.Resistor {
		t.Errorf("%s at 100 Hz, want a resistor", e.Symbol())
	}
	all := []impedance.Reading{at(100), at(300), at(1000), at(3000), at(10000)}
	if e := impedance.MainOf(all, impedance.Element{}); e.Symbol() != "Cp" {
		t.Errorf("%s of five frequencies, want Cp", e.Symbol())
	}
	if e := impedance.MainOf(all, impedance.Element{Kind: impedance.Resistor}); e.Symbol() != "Rp" {
		t.Errorf("%s where R is asked for, want Rp", e.Symbol())
	}
}

func TestMainWhereNothingLeads(t *testing.T) {
	open := derive(t, measured(complex(1e9, 0), 1e9, 1e9, 1000, 1e-3), plain)
	edge := derive(t, measured(complex(100, 100), 1, 1, 1000, 1e-3), plain)
	void := impedance.Void(uncertain.Absent())
	for _, c := range []struct {
		name string
		r    impedance.Reading
		want string
	}{{"an open or short", open, "|Z|"}, {"R = X", edge, "|Z|"}, {"nothing", void, ""}} {
		if e, q := c.r.Main(); e.Symbol() != c.want || q.IsAbsent() != (c.want == "") {
			t.Errorf("%s: %q %v, want %q", c.name, e.Symbol(), q, c.want)
		}
	}
}

func TestParseElement(t *testing.T) {
	for _, text := range []string{"C", "Cs", "Cp", "L", "Ls", "Lp", "R", "Rs", "Rp", "Z", "Y"} {
		e, err := impedance.ParseElement(text)
		if err != nil || e.String() != text {
			t.Errorf("%s: %s, %v", text, e, err)
		}
	}
	for _, text := range []string{"", "Zs", "Yp", "X", "capacitor", "Css"} {
		if e, err := impedance.ParseElement(text); err == nil {
			t.Errorf("%q was taken for %s", text, e)
		}
	}
}

// What is written of a reading and read back is the same reading, told the same way;
// and an older report, which lacks the conclusions, still has the same main element.
func TestReportReadsBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		size := math.Pow(10, -1+7*rng.Float64())
		z := complex(size*rng.Float64(), size*(2*rng.Float64()-1))
		u := size * math.Pow(10, -4+4*rng.Float64())
		r := derive(t, measured(z, u, u, math.Pow(10, 2+2*rng.Float64()), 1e-3), plain)
		text, err := json.Marshal(r.Report())
		if err != nil {
			t.Fatal(err)
		}
		var report impedance.Report
		if err := json.Unmarshal(text, &report); err != nil {
			t.Fatal(err)
		}
		back := report.Reading()
		if a, b := fmt.Sprintf("%+v", r), fmt.Sprintf("%+v", back); a != b {
			t.Fatalf("wrote %s\nread  %s", a, b)
		}
		report.Judged = nil
		want, q := r.Main()
		if e, p := report.Reading().Main(); e != want || p != q && q == q {
			t.Errorf("an older report is told by %s, want %s", e.Symbol(), want.Symbol())
		}
	}
}
