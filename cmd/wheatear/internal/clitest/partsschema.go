package clitest

var verdictSchema = schema{
	"outcome": oneOf{"pass", "fail", "undecided"}, "expected": text, "quantity": oneOf{"r_ohm", "c_f", "l_h"}, "circuit": oneOf{"series", "parallel"},
	"limit_low": maybe, "limit_high": maybe, "conformance_probability": maybe, "risk": maybe, "acceptance_low": maybe, "acceptance_high": maybe,
	"capability_index": maybe, "u_to_decide": maybe,
}

var partsSchema = schema{
	"schema": text, "text": text, "readings": list{schema{
		"kind": oneOf{"resistor", "capacitor", "inductor"}, "code": text, "words": text, "r_ohm": maybe, "c_f": maybe, "l_h": maybe,
		"tolerance": orNull{schema{"letter": maybeStr, "minus": numeric, "plus": numeric, "absolute_f": maybe}},
		"limits":    orNull{schema{"low": numeric, "high": numeric}}, "tempco_ppm_per_k": maybe, "link": boolean, "rkm": maybeStr,
		"notes": list{text}, "series": list{text},
		"nearest": list{schema{"series": text, "value": numeric, "below": numeric, "above": numeric}},
		"conditions": list{schema{"standard": text, "type": text, "frequencies_hz": list{numeric}, "level": text, "bias": text,
			"largest_d": maybe, "limit": text, "source": text, "beyond": maybeStr}},
	}},
}
