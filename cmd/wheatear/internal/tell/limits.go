package tell

import "example.org/wheatear/lockin/fixture"

// limit is what a person can do about one source of uncertainty.
type limit struct {
	why       string // why it acts as it does
	frequency string // what another frequency would change
	reference string // what another reference would change
}

// limits holds every source that a budget can name.
func limits() map[string]limit {
	const (
		sameF  = "another frequency would change nothing"
		sameR  = "another reference would change nothing"
		lowZ   = "for a capacitor a lower frequency, for an inductor a higher one makes |Z| larger, and this smaller beside it"
		highZ  = "for a capacitor a higher frequency, for an inductor a lower one makes |Z| smaller, and this smaller beside it"
		longer = "a frequency clear of the mains and its multiples, and where the card has little noise"
		nearer = "one nearer to |Z| lets both inputs hear about the same"
		lower  = "a lower frequency: this grows with it"
	)
	list := map[string]limit{
		fixture.LabelReference:     {"Every reading scales with the reference; a load of closer tolerance in the calibration would settle it.", sameF, "one of closer tolerance"},
		fixture.LabelReferenceCap:  {"The capacitance across the reference turns the phase; a load in the calibration would settle it.", lower, "a smaller one, which its capacitance disturbs less"},
		fixture.LabelLoading:       {"The inputs draw current; open and load in the calibration, or input_resistance in the jig file, would settle it.", lower, "a smaller one, which the inputs load less, where they lie across it"},
		fixture.LabelMatch:         {"The gains of the inputs differ by an unknown amount; a load in the calibration would settle it.", sameF, sameR},
		fixture.LabelDelay:         {"One input may be later than the other, which turns the phase; a load in the calibration would settle it.", lower, sameR},
		fixture.LabelCrosstalk:     {"Each input hears a little of the other; open and short in the calibration would settle it.", lower, nearer},
		fixture.LabelLeads:         {"Leads lie in series with the part; a short in the calibration would settle it.", lowZ, sameR},
		fixture.LabelFixtureCap:    {"The terminals have a capacitance across the part; an open in the calibration would settle it.", highZ, sameR},
		fixture.LabelContact:       {"Contacts differ by so many ohms from one insertion to the next, whatever the part; repeated insertions average it.", lowZ, sameR},
		fixture.LabelStray:         {"Stray capacitance differs from one insertion to the next, whatever the part; repeated insertions average it.", highZ, sameR},
		fixture.LabelDrift:         {"The gains of the inputs drift between recordings; calibrate closer in time to the reading.", sameF, nearer + "; far from it drift counts for more"},
		fixture.LabelMains:         {"The tone lies so near to a multiple of the mains that a line may hide under it.", longer, sameR},
		fixture.LabelRounding:      {"The samples stand on so coarse a grid, without noise, that rounding shifts the tone; a higher level or more bits lower it.", sameF, nearer},
		fixture.LabelMovement:      {"The ratio of the inputs moved while it was recorded; look for what follows the signal or has not settled.", sameF, sameR},
		fixture.LabelRepeat:        {"The repeated recordings differ by more than noise; look for loose contacts.", sameF, sameR},
		fixture.LabelLoad:          {"Every reading scales with the load that calibrated it; a load of closer tolerance would help.", sameF, sameR},
		fixture.LabelLoadResidual:  {"The load is not quite a pure resistance; one of lower inductance and capacitance would help.", lower, sameR},
		fixture.LabelOpenResidual:  {"The open still has some capacitance, which is taken for the jig's.", highZ, sameR},
		fixture.LabelShortResidual: {"The short still has some resistance and inductance, which are taken for the jig's.", lowZ, sameR},
		fixture.LabelInterpolation: {"The correction lies between calibrated frequencies; calibrate at this one.", "a calibrated one", sameR},
		fixture.LabelExtrapolation: {"The correction lies beyond the calibrated frequencies; calibrate at this one.", "a calibrated one", sameR},
		fixture.LabelClock:         {"C and L follow from the frequency, which the clock of the card sets.", sameF, sameR},
	}
	for _, role := range []fixture.Role{fixture.Open, fixture.Short, fixture.LoadRole, fixture.PartRole} {
		list[fixture.NoiseLabel(role)] = limit{"A longer recording or a higher level lowers it.", longer, nearer}
	}
	return list
}

// Why says why a source of uncertainty acts as it does, and what would settle it.
func Why(source string) string { return limits()[source].why }
