package clitest

import "maps"

// entrySchema is an entry of the notebook in a list.
var entrySchema = schema{
	"id": numeric, "key": text, "time": text, "kind": text, "label": text, "note": text, "jig": text, "trusted": boolean, "verdict": maybeStr,
	"findings": list{text}, "files": list{text}, "points": list{schema{
		"frequency_hz": numeric, "state": text, "trusted": boolean, "quantity": text, "unit": text, "value": maybe, "u": maybe, "low": maybe, "high": maybe,
	}},
}

// shownSchema is one with all that it rests on.
var shownSchema = with(entrySchema, schema{
	"schema": text, "command": text, "kept": list{text}, "result": anything,
	"rests_on": list{schema{"role": text, "name": text, "sha256": text, "text": text}},
})

var historySchema = schema{
	"schema": text, "label": text, "frequency_hz": maybe, "quantity": maybeStr, "unit": maybeStr, "others": numeric,
	"points": list{schema{"id": numeric, "time": text, "value": numeric, "u": numeric, "low": maybe, "high": maybe}},
	"trend": orNull{schema{"readings": numeric, "middle": text, "value": numeric, "slope_per_s": numeric, "slope_u_per_s": numeric,
		"degrees_of_freedom": maybe, "chance": numeric, "significance": text}},
}

func with(a, b schema) schema {
	both := maps.Clone(a)
	maps.Copy(both, b)
	return both
}
