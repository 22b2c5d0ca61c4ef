package clitest

// circuitSchema is a fitted circuit.
var circuitSchema = schema{
	"circuit": text, "name": text, "correlation": list{list{numeric}}, "chi_square": maybe, "dof": numeric, "probability": maybe,
	"agreement": oneOf{"agrees", "too close", "does not agree", "not judged"}, "delta": maybe, "rival": boolean, "rms": maybe,
	"unknowns": list{schema{"name": text, "unit": text, "value": figure, "estimate": maybe,
		"state": oneOf{"determined", "at least", "at most", "not determined", "at bound"}}},
	"residuals": list{schema{"frequency_hz": numeric, "re_ohm": numeric, "im_ohm": numeric}},
	"notes":     list{schema{"code": text, "names": list{text}, "detail": text, "advice": text}},
}

// swept adds what all results of fitted sweeps have.
func swept(s schema) schema {
	for key, want := range (schema{
		"schema": text, "jig": maybeStr, "calibration": maybeStr, "part": maybeStr, "touchstone": maybeStr, "points": numeric,
		"readings": list{readingSchema}, "findings": list{findingSchema},
		"consistency": orNull{schema{"words": text, "rms": numeric, "chi_square": maybe, "dof": numeric, "probability": maybe,
			"verdict": oneOf{"consistent", "drift", "depends on level", "drift or level", "inconsistent"}}},
	}) {
		s[key] = want
	}
	return s
}

func fitSchema() schema {
	return swept(schema{"choice": oneOf{"chosen", "not distinguishable", "none agrees"}, "words": text, "allowance": numeric, "circuits": list{circuitSchema}})
}

func identifySchema() schema {
	return swept(schema{"family": maybeStr, "confidence": oneOf{"high", "medium", "low"}, "reasons": list{text}, "unit": text,
		"value": figure, "value_hz": maybe, "resonance_hz": figure, "behaves_from_hz": maybe, "behaves_to_hz": maybe,
		"marking": orNull{schema{"series": text, "value": numeric, "text": text, "off": numeric}}, "circuit": orNull{circuitSchema}})
}
