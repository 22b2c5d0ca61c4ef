package report

import (
	"bytes"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// A demo is as published, also where a reading was refused.
func TestDemoJSON(t *testing.T) {
	q := func(v, half float64) uncertain.Quantity {
		return uncertain.Quantity{Value: v, U: half / 2, Low: v - half, High: v + half}
	}
	read := impedance.Reading{FreqHz: q(1000, 0.1), Re: q(470, 1), Im: q(0, 1), Modulus: q(470, 1), State: impedance.OK,
		Dominance: impedance.Dominance{Kind: impedance.Resistor}}
	read.Series.R, read.Parallel.R = q(470, 1), q(470, 1)
	good := &Reading{Corrected: &fixture.Corrected{NominalHz: 1000, Reading: read, Trusted: true}}
	refused := &Reading{Corrected: &fixture.Corrected{NominalHz: 1000, Reading: impedance.Void(uncertain.Absent())}}
	d := &Demo{Rows: []DemoRow{{"resistor", good, read}, {"clipped", refused, read}}}
	var b bytes.Buffer
	if err := DemoJSON(&b, "folder", d); err != nil {
		t.Fatal(err)
	}
	if err := clitest.ConformsText(b.Bytes()); err != nil {
		t.Errorf("%v\n%s", err, b.Bytes())
	}
	if !bytes.Contains(b.Bytes(), []byte(`"truth": 470`)) || !bytes.Contains(b.Bytes(), []byte(`"reading": null`)) {
		t.Errorf("%s", b.Bytes())
	}
}
