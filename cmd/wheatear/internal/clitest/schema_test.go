package clitest

import (
	"encoding/json"
	"strings"
	"testing"
)

// reading is a document that conforms; the table breaks it in one place each.
const reading = `{"schema": "wheatear.measure/1", "jig": "j", "calibration": null, "findings": [],
 "readings": [{"frequency_nominal_hz": 1000, "frequency_hz": {"value": 1000, "u": 0.1, "low": 999, "high": 1001}, "state": "ok",
  "z": {"re_ohm": {"value": 1, "u": 0.1, "low": 0.8, "high": 1.2}, "im_ohm": null, "correlation": null, "modulus_ohm": null, "phase_rad": null},
  "series": {"r_ohm": null, "c_f": null, "l_h": null}, "parallel": {"r_ohm": null, "c_f": null, "l_h": null}, "q": null, "d": null,
  "dominant": null, "level": {"part_v_rms": null, "part_a_rms": null}, "trusted": true, "findings": ["hum"]}]}`

func TestConforms(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"as it should be", "", "", ""},
		{"a key too many", `"jig": "j"`, `"jig": "j", "extra": 1`, "extra"},
		{"a key missing", `"jig": "j", `, ``, "jig"},
		{"half a quantity", `"u": 0.1, "low": 0.8`, `"low": 0.8`, "'u'"},
		{"u below zero", `"u": 0.1, "low": 0.8`, `"u": -0.1, "low": 0.8`, "minimum"},
		{"outside its interval", `"low": 0.8`, `"low": 1.1`, "outside its interval"},
		{"a number as text", `"value": 1000,`, `"value": "1000",`, "string"},
		{"a code of nobody", `["hum"]`, `["humm"]`, "value must be one of"},
		{"a state of nobody", `"state": "ok"`, `"state": "fine"`, "value must be one of"},
		{"not trusted, with figures", `"trusted": true`, `"trusted": false`, "null"},
		{"another schema", `wheatear.measure/1`, `wheatear.other/1`, "none of ours"},
		{"a later version", `wheatear.measure/1`, `wheatear.measure/2`, "value must be"},
	} {
		text := strings.Replace(reading, c.old, c.new, 1)
		if c.old != "" && text == reading {
			t.Fatalf("%s: nothing was changed", c.name)
		}
		err := ConformsText([]byte(text))
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(strings.ToLower(err.Error()), strings.ToLower(c.want)) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	if err := ConformsText([]byte(reading + reading)); err == nil {
		t.Error("two documents were taken for one")
	}
}

// What is kept as a result within a document is held to its own schema.
func TestConformsWithin(t *testing.T) {
	var result map[string]any
	if err := json.Unmarshal([]byte(reading), &result); err != nil {
		t.Fatal(err)
	}
	entry := map[string]any{"schema": "wheatear.notebook.entry/1", "key": "k", "time": "2026-01-02T03:04:05.000006Z", "label": "", "note": "", "command": "measure",
		"rests_on": []any{}, "files": []any{}, "result": result}
	if err := Conforms(entry); err != nil {
		t.Error(err)
	}
	result["jig"] = 5.0
	if err := Conforms(entry); err == nil {
		t.Error("a result that does not conform passed")
	}
}
