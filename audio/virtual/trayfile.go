package virtual

import "fmt"

// Values in a tray file are written as in circuits, in quotes or as plain numbers.
type (
	ohms    float64
	farads  float64
	henries float64
	voltage float64
	current float64
	flux    float64
	number  float64
)

func (v *ohms) UnmarshalText(b []byte) error    { return set((*float64)(v), b, 'R') }
func (v *farads) UnmarshalText(b []byte) error  { return set((*float64)(v), b, 'C') }
func (v *henries) UnmarshalText(b []byte) error { return set((*float64)(v), b, 'L') }
func (v *voltage) UnmarshalText(b []byte) error { return set((*float64)(v), b, 'V') }
func (v *current) UnmarshalText(b []byte) error { return set((*float64)(v), b, 'A') }
func (v *flux) UnmarshalText(b []byte) error    { return set((*float64)(v), b, 'Q') }

// UnmarshalText reads a number, which alone may be negative.
func (v *number) UnmarshalText(b []byte) error {
	if len(b) > 0 && b[0] == '-' {
		err := set((*float64)(v), b[1:], '-')
		*v = -*v
		return err
	}
	return set((*float64)(v), b, '-')
}

func set(v *float64, text []byte, kind byte) (err error) {
	*v, err = parseValue(string(text), kind)
	return err
}

type partTable struct {
	Name          string
	Circuit       string
	Note          string
	Junction      []junctionTable
	Ceramic       []ceramicTable
	Core          []coreTable
	ConstantPhase []phaseTable `toml:"constant_phase"`
}

type junctionTable struct {
	Saturation       current
	Emission         number
	SeriesResistance ohms `toml:"series_resistance"`
	Capacitance      farads
	Count            int
	Reverse          bool
}

type ceramicTable struct {
	Capacitance      farads
	Volt             voltage
	SeriesResistance ohms    `toml:"series_resistance"`
	SeriesInductance henries `toml:"series_inductance"`
	LeakResistance   ohms    `toml:"leak_resistance"`
}

type coreTable struct {
	Inductance        henries
	Flux              flux
	WindingResistance ohms `toml:"winding_resistance"`
	LossResistance    ohms `toml:"loss_resistance"`
	Capacitance       farads
}

type phaseTable struct {
	Q                number
	Exponent         number
	SeriesResistance ohms `toml:"series_resistance"`
}

// part turns a table into a part.
func (t *partTable) part() Part {
	p := Part{Name: t.Name, Circuit: t.Circuit, Note: t.Note}
	for _, d := range t.Junction {
		p.Junctions = append(p.Junctions, Junction{float64(d.Saturation), float64(d.Emission),
			float64(d.SeriesResistance), float64(d.Capacitance), d.Count, d.Reverse})
	}
	for _, c := range t.Ceramic {
		p.Ceramics = append(p.Ceramics, Ceramic{float64(c.Capacitance), float64(c.Volt),
			float64(c.SeriesResistance), float64(c.SeriesInductance), float64(c.LeakResistance)})
	}
	for _, c := range t.Core {
		p.Cores = append(p.Cores, Core{float64(c.Inductance), float64(c.Flux), float64(c.WindingResistance),
			float64(c.LossResistance), float64(c.Capacitance)})
	}
	for _, e := range t.ConstantPhase {
		p.ConstantPhase = append(p.ConstantPhase, ConstantPhase{float64(e.Q), float64(e.Exponent), float64(e.SeriesResistance)})
	}
	return p
}

// jigTable is a [jig] of a tray file: what the simulated jig really is. Lists have
// one value for each input.
type jigTable struct {
	Channels             []string
	Reference            ohms
	ReferenceCapacitance farads   `toml:"reference_capacitance"`
	ReferenceInductance  henries  `toml:"reference_inductance"`
	SourceResistance     ohms     `toml:"source_resistance"`
	SourceCapacitance    farads   `toml:"source_capacitance"`
	LeadResistance       ohms     `toml:"lead_resistance"`
	LeadInductance       henries  `toml:"lead_inductance"`
	FixtureCapacitance   farads   `toml:"fixture_capacitance"`
	GroundCapacitance    farads   `toml:"ground_capacitance"`
	ContactResistance    ohms     `toml:"contact_resistance"`
	ContactSpread        ohms     `toml:"contact_spread"`
	FixtureSpread        farads   `toml:"fixture_spread"`
	InputResistance      []ohms   `toml:"input_resistance"`
	InputCapacitance     []farads `toml:"input_capacitance"`
	InputCorner          []number `toml:"input_corner_hz"`
	CommonMode           []number `toml:"common_mode"`
	Drive                voltage
	FullScale            []voltage `toml:"full_scale"`
	Amplifier            amplifierTable
}

type amplifierTable struct {
	GainBandwidth    number `toml:"gain_bandwidth_hz"`
	OpenLoopGain     number `toml:"open_loop_gain"`
	OutputResistance ohms   `toml:"output_resistance"`
	InputCapacitance farads `toml:"input_capacitance"`
}

// jig turns the table into a jig.
func (t *jigTable) jig() (Jig, error) {
	j := Jig{
		ReferenceOhm: float64(t.Reference), ReferenceFarad: float64(t.ReferenceCapacitance), ReferenceHenry: float64(t.ReferenceInductance),
		SourceOhm: float64(t.SourceResistance), SourceFarad: float64(t.SourceCapacitance),
		LeadOhm: float64(t.LeadResistance), LeadHenry: float64(t.LeadInductance),
		FixtureFarad: float64(t.FixtureCapacitance), GroundFarad: float64(t.GroundCapacitance),
		ContactOhm: float64(t.ContactResistance), ContactSpreadOhm: float64(t.ContactSpread), FixtureSpreadFarad: float64(t.FixtureSpread),
		Amplifier: Amplifier{float64(t.Amplifier.GainBandwidth), float64(t.Amplifier.OpenLoopGain),
			float64(t.Amplifier.OutputResistance), float64(t.Amplifier.InputCapacitance)},
		DriveVolts: float64(t.Drive),
	}
	if copy(j.Channels[:], t.Channels) != len(t.Channels) || len(t.Channels) == 1 {
		return j, fmt.Errorf("%d channels; a jig has two channels", len(t.Channels))
	}
	var l lists
	ohm, farad := two(&l, "input_resistance", t.InputResistance), two(&l, "input_capacitance", t.InputCapacitance)
	corner, common := two(&l, "input_corner_hz", t.InputCorner), two(&l, "common_mode", t.CommonMode)
	for i := range j.Inputs {
		j.Inputs[i] = Input{ohm[i], farad[i], corner[i], common[i]}
	}
	j.FullScaleVolts = two(&l, "full_scale", t.FullScale)
	return j, l.err
}

// lists keeps the first complaint about a list.
type lists struct{ err error }

// two is a list of two values, one for each input; none are zeros.
func two[T ~float64](l *lists, key string, list []T) (out [2]float64) {
	if len(list) != 0 && len(list) != 2 && l.err == nil {
		l.err = fmt.Errorf("%s has %d values; give one for each of the two inputs", key, len(list))
	}
	for i := range min(len(list), 2) {
		out[i] = float64(list[i])
	}
	return out
}
