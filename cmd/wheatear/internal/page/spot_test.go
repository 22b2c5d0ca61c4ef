package page

import (
	"fmt"
	"strings"
	"testing"
)

// The sign of a part in a board comes from its interval against the tolerance.
func TestSpotVerdict(t *testing.T) {
	for _, c := range []struct {
		expect, unit string
		low, high    float64
		want         string
	}{
		{"100n", "F", 95e-9, 99e-9, "within: within"},
		{"100n", "F", 67.9e-9, 75.3e-9, "too low: below"},
		{"100n", "F", 88e-9, 97e-9, "undetermined: the interval reaches across"},
		{"100nF/20%", "F", 88e-9, 97e-9, "within: within"},
		{"100n", "F", 111e-9, 112e-9, "too high: above"},
		{"470u", "F", 390e-6, 400e-6, "within: within"}, // of electrolytics 20 %
		{"4k7", "Ω", 4.4e3, 4.45e3, "too low: below"},
		{"10mH", "H", 9e-3, 13e-3, "undetermined"},
		{"4k7", "F", 1e-9, 2e-9, ""},
		{"", "F", 1e-9, 2e-9, ""},
	} {
		task := &Task{Asked: TaskRequest{Expect: c.expect}, Result: fmt.Appendf(nil, `{"schema": "wheatear.incircuit/1", "unit": %q, "told": true, "value": {"value": %g, "low": %g, "high": %g}}`, c.unit, (c.low+c.high)/2, c.low, c.high)}
		got := ""
		if v := task.spotVerdict(); v != nil {
			got = v.Word + ": " + v.Text
		}
		if !strings.HasPrefix(got, c.want) || (c.want == "") != (got == "") {
			t.Errorf("%s against %g to %g %s: %q, want %q", c.expect, c.low, c.high, c.unit, got, c.want)
		}
	}
	untold := &Task{Asked: TaskRequest{Expect: "100n"}, Result: []byte(`{"schema": "wheatear.incircuit/1", "unit": "F", "told": false, "value": null}`)}
	if v := untold.spotVerdict(); v == nil || v.Word != "undetermined" {
		t.Errorf("nothing told: %+v", v)
	}
}
