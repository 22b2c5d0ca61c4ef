package result_test

import (
	"bytes"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// A demo is as published, also where a reading was refused.
func TestDemo(t *testing.T) {
	q := func(v, half float64) uncertain.Quantity {
		return uncertain.Quantity{Value: v, U: half / 2, Low: v - half, High: v + half}
	}
	read := impedance.Reading{FreqHz: q(1000, 0.1), Re: q(470, 1), Im: q(0, 1), Modulus: q(470, 1), State: impedance.OK,
		Dominance: impedance.Dominance{Kind: impedance.Resistor}}
	read.Series.R, read.Parallel.R = q(470, 1), q(470, 1)
	list := []result.Reading{{NominalHz: 1000, Report: read.Report(), Trusted: true},
		{NominalHz: 1000, Report: impedance.Void(uncertain.Absent()).Report(), RefusedBy: nil}}
	result.SetMain(list, impedance.Element{})
	d := &result.Demo{Schema: result.DemoSchema, Folder: "folder"}
	for i := range list {
		d.Readings = append(d.Readings, result.NewDemoReading("part", &list[i], read))
	}
	var b bytes.Buffer
	if err := result.Write(&b, d); err != nil {
		t.Fatal(err)
	}
	if err := clitest.ConformsText(b.Bytes()); err != nil {
		t.Errorf("%v\n%s", err, b.Bytes())
	}
	if !bytes.Contains(b.Bytes(), []byte(`"truth": 470`)) || !bytes.Contains(b.Bytes(), []byte(`"reading": null`)) || !d.Readings[0].Holds || d.Readings[1].Holds {
		t.Errorf("%s", b.Bytes())
	}
}

// The true value beside a reading is the same element of the same circuit, and the
// interval is held against it.
func TestDemoReading(t *testing.T) {
	exact := func(v float64) uncertain.Quantity { return uncertain.Quantity{Value: v, Low: v, High: v} }
	truth := impedance.Void(exact(1000))
	truth.Series.C, truth.Parallel.C = exact(100.05e-9), exact(98e-9)
	main := result.MainOf(impedance.Element{Kind: impedance.Capacitor, Circuit: impedance.SeriesCircuit},
		uncertain.Quantity{Value: 100e-9, U: 0.05e-9, Low: 99.9e-9, High: 100.1e-9})
	r := result.Reading{NominalHz: 1000, Trusted: true, Main: main}
	if d := result.NewDemoReading("film", &r, truth); d.Truth == nil || *d.Truth != 100.05e-9 || d.Unit != "F" || !d.Holds {
		t.Errorf("got %+v", d)
	}
	truth.Series.C = exact(100.2e-9)
	if d := result.NewDemoReading("film", &r, truth); d.Holds {
		t.Errorf("100.2 nF is not in 100.0 ± 0.1 nF: %+v", d)
	}
	r.Trusted, r.RefusedBy = false, []finding.Code{finding.NoSignal}
	if d := result.NewDemoReading("film", &r, truth); d.Holds || d.Truth != nil || len(d.RefusedBy) != 1 {
		t.Errorf("got %+v", d)
	}
}
