package notebook

import (
	"context"
	"slices"
	"strings"
	"testing"
)

func TestKindsAndResults(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	if kinds, err := n.Kinds(ctx); err != nil || len(kinds) != 0 {
		t.Errorf("of an empty notebook: %q, %v", kinds, err)
	}
	lot := someResult(2, `{"schema": "wheatear.sort/1", "passed": 2, "failed": 1, "undecided": 0}`)
	cal := someResult(3, `{"schema": "wheatear.calibrate/1"}`)
	cal.Documents = []Document{NewDocument(JigFile, "j.toml", "name = \"my jig\"\n")}
	add(t, n, capacitor(0, "C1", 1e-7, 1e-10), capacitor(1, "C1", 1e-7, 1e-10), lot, cal)
	if kinds, err := n.Kinds(ctx); err != nil || !slices.Equal(kinds, []string{"calibration", "reading", "sort"}) {
		t.Errorf("%q, %v", kinds, err)
	}
	list := listed(t, n, Filter{})
	if list[0].JigName != "my jig" || list[1].Verdict != "fail" {
		t.Errorf("jig %q of a calibration, verdict %q of a lot with a part that fails", list[0].JigName, list[1].Verdict)
	}
	if err := n.Results(ctx, list); err != nil || !strings.Contains(string(list[1].Result), "wheatear.sort/1") {
		t.Errorf("%s, %v", list[1].Result, err)
	}
}
