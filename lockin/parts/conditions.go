package parts

import (
	_ "embed"
	"encoding/csv"
	"math"
	"strings"

	"example.org/wheatear/lockin/internal/errkind"
)

// Type is a kind of part as the component standards tell them apart.
type Type string

// The types. The general ones stand for parts of which no more is known.
const (
	AnyResistor   Type = "resistor"
	AnyCapacitor  Type = "capacitor" // but for electrolytic ones
	AnyInductor   Type = "inductor"
	Electrolytic  Type = "electrolytic"
	CeramicClass1 Type = "ceramic-1"
	CeramicClass2 Type = "ceramic-2"
	Polyester     Type = "polyester"
	Polypropylene Type = "polypropylene"
	Suppression   Type = "suppression" // of interference, polypropylene
	Aluminium     Type = "aluminium"
	Tantalum      Type = "tantalum"
	PolymerType   Type = "polymer"
	DoubleLayer   Type = "double-layer"
	ChipInductor  Type = "chip-inductor"
	MagneticCore  Type = "core"
)

// general returns the type whose conditions hold for a type, too; "" for none.
func (t Type) general() Type {
	switch t {
	case CeramicClass1, CeramicClass2, Polyester, Polypropylene, Suppression:
		return AnyCapacitor
	case Aluminium, Tantalum, PolymerType, DoubleLayer:
		return Electrolytic
	case ChipInductor, MagneticCore:
		return AnyInductor
	}
	return ""
}

// Unit returns what a type is measured in; None for no type.
func (t Type) Unit() Unit {
	for t.general() != "" {
		t = t.general()
	}
	return map[Type]Unit{AnyResistor: Ohm, AnyCapacitor: Farad, Electrolytic: Farad, AnyInductor: Henry}[t]
}

// Types returns all types, the general ones first.
func Types() []Type {
	return []Type{AnyResistor, AnyCapacitor, AnyInductor, Electrolytic, CeramicClass1, CeramicClass2, Polyester, Polypropylene,
		Suppression, Aluminium, Tantalum, PolymerType, DoubleLayer, ChipInductor, MagneticCore}
}

// TypeOf returns the general type of a unit.
func TypeOf(unit Unit) Type {
	return map[Unit]Type{Ohm: AnyResistor, Farad: AnyCapacitor, Henry: AnyInductor}[unit]
}

// Condition is how a standard, or the trade, measures a part.
type Condition struct {
	Standard    string // "none" for what is common practice
	Type        Type
	Values      Limits    // the values it is meant for: above Low up to and with High
	FreqsHz     []float64 // any one of them; the referee frequency first, 0 for direct current
	LevelV      Limits    // across the part, volts rms (volts at direct current); NaN where it is only described
	Level, Bias string    // in words; empty where nothing is said
	Limit       string    // of loss, or another note
	Source      string    // where the row was read, "from memory" or "common practice"
	d0, d1PF    float64   // D ≤ d0 + d1/C[pF]
	q0, q1PerPF float64   // Q ≥ q0 + q1·C[pF]
	hasD, hasQ  bool
}

// FromMemory reports whether nobody has checked the row against a text: nothing
// can be said to conform to it.
func (c Condition) FromMemory() bool { return strings.Contains(c.Source, "from memory") }

// LargestD returns the limit of the dissipation factor for a value in farad. It is
// not ok where the row gives none in figures. A limit of Q is one of D = 1/Q.
func (c Condition) LargestD(farad float64) (d float64, ok bool) {
	pF := farad * 1e12
	switch {
	case c.hasD && c.d1PF != 0:
		return c.d0 + c.d1PF/pF, true
	case c.hasD:
		return c.d0, true
	case c.hasQ:
		return 1 / (c.q0 + c.q1PerPF*pF), true
	}
	return 0, false
}

//go:embed conditions.csv
var conditionsCSV string

// Conditions returns what is to be set for a part of a type and value in its unit:
// the rows of the type itself, those of the general type behind them, and common
// practice last. Several rows may hold.
//
// Errors: a type that is none, a value that is not positive. Sources: the column
// of each row; IEC 60384-1 and its sectional specifications, IEC 60115-1 and the
// others named there.
func Conditions(t Type, value float64) ([]Condition, error) {
	if t.Unit() == None {
		return nil, errkind.Errorf(ErrInput, "parts: %q is no type of part: write one of %v", shorten(string(t)), Types())
	}
	if !(value > 0) || math.IsInf(value, 0) {
		return nil, errkind.Errorf(ErrInput, "parts: no test conditions for a %s of %g %s: give a value above zero", t, value, t.Unit())
	}
	all, err := allConditions()
	if err != nil {
		return nil, err
	}
	var out, habits []Condition
	for at := t; at != ""; at = at.general() {
		for _, c := range all {
			switch {
			case c.Type != at || !(value > c.Values.Low && value <= c.Values.High):
			case c.Standard == "none":
				habits = append(habits, c)
			default:
				out = append(out, c)
			}
		}
	}
	return append(out, habits...), nil
}

// allConditions reads the table.
func allConditions() ([]Condition, error) {
	rows, err := csv.NewReader(strings.NewReader(conditionsCSV)).ReadAll()
	if err != nil {
		return nil, errkind.Errorf(ErrInput, "parts: table of test conditions: %w", err)
	}
	var out []Condition
	for i, row := range rows[1:] {
		c, err := newCondition(row)
		if err != nil {
			return nil, errkind.Errorf(ErrInput, "parts: table of test conditions, line %d: %w", i+2, err)
		}
		out = append(out, c)
	}
	return out, nil
}

// columns of the table.
const (
	colStandard = iota
	colType
	colOver
	colUpTo
	colFreqs
	colLevelLow
	colLevelHigh
	colLevel
	colBias
	colD0
	colD1
	colQ0
	colQ1
	colLimit
	colSource
)

func newCondition(row []string) (Condition, error) {
	c := Condition{
		Standard: row[colStandard], Type: Type(row[colType]), Level: row[colLevel], Bias: row[colBias], Limit: row[colLimit], Source: row[colSource],
		hasD: row[colD0] != "", hasQ: row[colQ0] != "",
	}
	unit := c.Type.Unit()
	r := rowReader{row: row}
	c.Values = Limits{r.number(colOver, unit, 0), r.number(colUpTo, unit, math.Inf(1))}
	c.LevelV = Limits{r.number(colLevelLow, Volt, math.NaN()), r.number(colLevelHigh, Volt, math.NaN())}
	c.d0, c.d1PF = r.number(colD0, None, 0), r.number(colD1, None, 0)
	c.q0, c.q1PerPF = r.number(colQ0, None, 0), r.number(colQ1, None, 0)
	for _, text := range strings.Fields(row[colFreqs]) {
		c.FreqsHz = append(c.FreqsHz, r.parse(text, Hertz))
	}
	return c, r.err
}

// rowReader keeps the first error.
type rowReader struct {
	row []string
	err error
}

func (r *rowReader) number(column int, unit Unit, missing float64) float64 {
	if r.row[column] == "" {
		return missing
	}
	return r.parse(r.row[column], unit)
}

func (r *rowReader) parse(text string, unit Unit) float64 {
	v, err := ParseValue(text, unit)
	if r.err == nil {
		r.err = err
	}
	return v
}
