package clitest

import (
	"fmt"
	"math"
	"slices"
)

// A schema says of each key what its value must be. Every key must be there and
// no other may, but for those marked with a question mark.
type schema map[string]any

// The kinds of values.
type kind string

const (
	text     kind = "text"
	boolean  kind = "boolean"
	numeric  kind = "number"
	figure   kind = "quantity or null"
	maybe    kind = "number or null"
	maybeStr kind = "text or null"
	anything kind = "anything" // a document that has been checked elsewhere
)

// list is any number of values of one kind.
type list struct{ of any }

// orNull is a value of one kind, or nothing.
type orNull struct{ of any }

// oneOf is one of some texts, or null where "" is among them.
type oneOf []string

var findingSchema = schema{
	"code": text, "severity": oneOf{"note", "warning", "invalid"}, "file": maybeStr, "channel": maybe,
	"frequency_hz": maybe, "at_s": maybe, "detail": text, "advice": text,
}

var sourceSchema = schema{"source": text, "u": numeric, "share": numeric}

var equivalentSchema = schema{"r_ohm": figure, "c_f": figure, "l_h": figure}

// readingSchema is a reading, wherever it is printed.
var readingSchema = schema{
	"frequency_nominal_hz": numeric, "frequency_hz": figure,
	"state":  oneOf{"ok", "open", "short", "no-signal"},
	"z":      schema{"re_ohm": figure, "im_ohm": figure, "correlation": maybe, "modulus_ohm": figure, "phase_rad": figure},
	"series": equivalentSchema, "parallel": equivalentSchema, "q": figure, "d": figure,
	"dominant": oneOf{"capacitor", "inductor", "resistor", ""},
	"level":    schema{"part_v_rms": maybe, "part_a_rms": maybe},
	"trusted":  boolean, "findings": list{text},
	"budget?": schema{"re_ohm": list{sourceSchema}, "im_ohm": list{sourceSchema}}, "verdict?": verdictSchema,
}

// schemas are the documents that the commands print.
var schemas = map[string]schema{
	"wheatear.measure/1": {
		"schema": text, "jig": text, "calibration": maybeStr, "findings": list{findingSchema},
		"readings": list{readingSchema},
	},
	"wheatear.sweep/1": {
		"schema": text, "jig": text, "calibration": maybeStr, "part": maybeStr, "points_asked": numeric, "together": boolean, "signal_s": maybe,
		"readings": list{readingSchema}, "findings": list{findingSchema},
	},
	"wheatear.compare/1": {
		"schema": text, "jig": text, "calibration": maybeStr, "matters": maybe, "verdict": oneOf{"alike", "differs", "undecided"},
		"differences": list{schema{"frequency_hz": numeric, "quantity": maybeStr, "relative": figure, "loss": figure, "chance": maybe,
			"verdict": oneOf{"alike", "differs", "undecided"}}},
		"good": list{readingSchema}, "readings": list{readingSchema}, "findings": list{findingSchema},
	},
	"wheatear.incircuit/1": {
		"schema": text, "jig": text, "calibration": maybeStr, "part": maybeStr, "kind": oneOf{"capacitor", "inductor", "resistor"}, "told": boolean,
		"unit": text, "value": figure, "why": text, "assumed": text, "best_hz": maybe, "share": maybe, "conducts_from": schema{"part_v_rms": maybe, "part_a_rms": maybe},
		"models":     list{schema{"around": text, "circuit": text, "value": figure, "chance": maybe, "weight": numeric}},
		"misleading": list{schema{"frequency_hz": numeric, "value": maybe, "off": maybe}},
		"health":     list{schema{"what": text, "value": maybe, "u": maybe, "outcome": text, "basis": text}},
		"readings":   list{readingSchema}, "findings": list{findingSchema},
	},
	"wheatear.fit/1": fitSchema(), "wheatear.identify/1": identifySchema(),
	"wheatear.plan/1": {
		"schema": text, "part": text, "jig": text, "wanted": maybe, "longer": orNull{schema{"seconds": numeric, "half_width": numeric}},
		"choices": list{schema{"reference_ohm": numeric, "frequency_hz": numeric, "standard": maybeStr, "peak_dbfs": numeric, "seconds": numeric, "half_width": maybe, "reached": boolean,
			"circuit": text, "limits": list{sourceSchema}, "warnings": list{text}, "level": schema{"part_v_rms": maybe, "part_a_rms": maybe}}},
	},
	"wheatear.sort/1": {
		"schema": text, "jig": text, "calibration": maybeStr, "expected": text, "file": text, "passed": numeric, "failed": numeric, "undecided": numeric,
		"mean": maybe, "mean_u": maybe, "spread": maybe, "spread_u": maybe, "spread_measured": maybe, "measurement_share": maybe, "outliers": list{numeric},
		"parts": list{schema{"number": numeric, "name": text, "value": maybe, "u": maybe, "low": maybe, "high": maybe, "unit": text, "verdict": text,
			"risk": maybe, "u_to_decide": maybe, "bin": maybeStr, "bin_chance": maybe}},
	},
	"wheatear.level/1": {
		"schema": text, "jig": text, "calibration": maybeStr, "part": maybeStr, "quantity": maybeStr, "unit": maybeStr, "zero": figure,
		"law": maybeStr, "change": maybe, "change_u": maybe, "onset": schema{"part_v_rms": maybe, "part_a_rms": maybe},
		"kind": maybeStr, "confidence": maybeStr, "reasons": list{text}, "readings": list{readingSchema},
		"harmonics": list{list{schema{"order": numeric, "relative": numeric, "u": numeric}}}, "findings": list{findingSchema},
	},
	"wheatear.verify/1": verifySchema, "wheatear.fullscale/1": fullScaleSchema,
	"wheatear.parts/1":            partsSchema,
	"wheatear.notebook.list/1":    {"schema": text, "file": text, "total": numeric, "entries": list{entrySchema}},
	"wheatear.notebook.show/1":    shownSchema,
	"wheatear.notebook.history/1": historySchema,
	"wheatear.notebook.import/1":  {"schema": text, "added": numeric, "known": numeric},
	"wheatear.notebook.prune/1":   {"schema": text, "entries": numeric, "oldest": maybeStr, "newest": maybeStr, "records": numeric, "done": boolean},
	"wheatear.demo/1": {
		"schema": text, "folder": text,
		"readings": list{schema{"part": text, "frequency_hz": numeric, "unit": text, "truth": maybe, "reading": figure, "holds": boolean}},
	},
	"wheatear.simulate/1":  {"schema": text, "parts": list{schema{"name": text, "circuit": text, "note": text}}},
	"wheatear.calibrate/1": {"schema": text, "frequencies_hz": list{numeric}, "findings": list{findingSchema}},
	"wheatear.devices/1": {
		"schema": text, "pair": orNull{schema{"input": text, "output": text, "why": text}},
		"devices": list{schema{"number": numeric, "api": text, "name": text, "inputs": numeric, "outputs": numeric, "rates_hz": list{numeric},
			"default_input": boolean, "default_output": boolean, "note": text}},
		"simulated": schema{"name": text, "api": text, "inputs": numeric, "outputs": numeric, "rates_hz": list{numeric}, "note": text},
	},
	"wheatear.setup/1": {
		"schema": text, "file": text, "jig": text, "level_dbfs": maybe, "advice": text, "findings": list{findingSchema},
		"inputs": list{schema{"input": numeric, "carries": text, "quiet_dbfs": maybe, "expected_dbfs": maybe, "noise_dbfs": maybe}},
	},
	"wheatear.stimulus/1": {
		"schema": text, "rate_hz": numeric, "frames": numeric, "seconds": numeric, "period_frames": maybe, "peak_dbfs": numeric, "crest_factor": numeric,
		"tones": list{schema{"requested_hz": numeric, "frequency_hz": numeric, "amplitude_dbfs": numeric, "phase_rad": numeric, "on_mains": boolean, "on_harmonic": boolean}},
	},
	"wheatear.demodulate/1": {
		"schema": text, "file": text, "rate_hz": numeric, "frames": numeric, "used_s": list{numeric}, "clock_ppm": maybe, "mains_hz": maybe,
		"mains":    list{schema{"order": numeric, "frequency_hz": numeric, "amplitude": list{numeric}}},
		"channels": list{schema{"channel": numeric, "peak": maybe, "noise_rms": maybe, "offset": maybe}},
		"findings": list{findingSchema},
		"tones": list{schema{"frequency_nominal_hz": numeric, "frequency_hz": figure, "channels": list{schema{
			"channel": numeric, "detected": boolean, "in_phase": figure, "quadrature": figure, "amplitude": figure, "phase_rad": figure,
			"harmonics": list{schema{"order": numeric, "ratio": numeric}},
		}}}},
	},
}

// Conforms checks a document against the schema that it names, and that a
// reading which is not trusted holds no figure at all.
func Conforms(doc map[string]any) error {
	name, _ := doc["schema"].(string)
	want, ok := schemas[name]
	if !ok {
		return fmt.Errorf("schema %q is none of ours", name)
	}
	if err := check("", doc, want); err != nil {
		return err
	}
	readings, _ := doc["readings"].([]any)
	for i, r := range readings {
		if r := r.(map[string]any); r["trusted"] == false {
			if at := anyFigure(r); at != "" {
				return fmt.Errorf("readings.%d is not trusted and has a figure at %s", i, at)
			}
		}
	}
	return nil
}

// check holds a value against what it must be.
func check(at string, v, want any) error {
	switch want := want.(type) {
	case schema:
		return checkObject(at, v, want)
	case list:
		items, ok := v.([]any)
		if !ok {
			return fmt.Errorf("%s: %v is no list", at, v)
		}
		for i, item := range items {
			if err := check(fmt.Sprintf("%s.%d", at, i), item, want.of); err != nil {
				return err
			}
		}
		return nil
	case orNull:
		if v == nil {
			return nil
		}
		return check(at, v, want.of)
	case oneOf:
		s, ok := v.(string)
		if !ok && v != nil || !slices.Contains(want, s) {
			return fmt.Errorf("%s: %v is none of %v", at, v, want)
		}
		return nil
	case kind:
		return checkKind(at, v, want)
	}
	return fmt.Errorf("%s: no such kind", at)
}

func checkObject(at string, v any, want schema) error {
	object, ok := v.(map[string]any)
	if !ok {
		return fmt.Errorf("%s: %v is no object", at, v)
	}
	for key, w := range want {
		name, optional := key, false
		if key[len(key)-1] == '?' {
			name, optional = key[:len(key)-1], true
		}
		value, there := object[name]
		if !there && !optional {
			return fmt.Errorf("%s.%s is missing", at, name)
		}
		if there {
			if err := check(at+"."+name, value, w); err != nil {
				return err
			}
		}
	}
	for key := range object {
		if _, known := want[key]; !known && want[key+"?"] == nil {
			return fmt.Errorf("%s.%s is not in the schema", at, key)
		}
	}
	return nil
}

func checkKind(at string, v any, want kind) error {
	_, isText := v.(string)
	_, isBool := v.(bool)
	_, isNumber := v.(float64)
	ok := map[kind]bool{
		text: isText, boolean: isBool, numeric: isNumber,
		maybe: isNumber || v == nil, maybeStr: isText || v == nil, anything: true, figure: v == nil || quantityOK(v),
	}[want]
	if !ok {
		return fmt.Errorf("%s: %v is no %s", at, v, want)
	}
	return nil
}

// quantityOK checks a quantity: four keys, bounds in order, u not negative.
func quantityOK(v any) bool {
	q, ok := v.(map[string]any)
	if !ok || len(q) != 4 {
		return false
	}
	at := func(key string, missing float64) float64 {
		if f, ok := q[key].(float64); ok {
			return f
		}
		return missing
	}
	low, high := at("low", math.Inf(-1)), at("high", math.Inf(1))
	value := at("value", math.Max(low, math.Min(high, 0)))
	for _, key := range []string{"value", "u", "low", "high"} {
		if _, there := q[key]; !there {
			return false
		}
	}
	return low <= high && value >= low && value <= high && at("u", 0) >= 0
}

// anyFigure finds a quantity in a reading and returns its key.
func anyFigure(reading map[string]any) string {
	for key, v := range reading {
		if object, ok := v.(map[string]any); ok {
			if _, isQuantity := object["low"]; isQuantity {
				return key
			}
			if at := anyFigure(object); at != "" {
				return key + "." + at
			}
		}
		if _, isNumber := v.(float64); isNumber && key != "frequency_nominal_hz" {
			return key
		}
	}
	return ""
}
