package clitest

// verifySchema is what verify prints.
var verifySchema = schema{
	"schema": text, "jig": text, "card": maybeStr, "date": text, "verdict": oneOf{"pass", "fail"}, "file": maybeStr,
	"faults": list{schema{
		"code": text, "severity": oneOf{"note", "warning", "invalid"}, "channel": maybe, "frequency_hz": maybe,
		"value": maybe, "u": maybe, "low": maybe, "high": maybe, "unit": text, "limit": maybe, "detail": text, "advice": text,
	}},
	"figures": list{schema{
		"topic": text, "name": text, "channel": maybe, "frequency_hz": maybe, "played_dbfs": maybe,
		"value": maybe, "u": maybe, "low": maybe, "high": maybe, "unit": text, "readings": maybe,
	}},
	"steps": list{schema{"step": text, "recordings": numeric, "usable": numeric, "tells": text}},
	"allan": list{schema{"tau_s": numeric, "deviation": numeric, "low": numeric, "high": numeric}},
	"notes": list{text}, "findings": list{findingSchema},
}

// fullScaleSchema is what verify --full-scale prints.
var fullScaleSchema = schema{
	"schema": text, "jig": text, "file": text, "full_scale_v": list{numeric}, "level": schema{"part_v_rms": numeric, "part_a_rms": numeric},
}
