package result

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/incircuit"
	"example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
)

// SpotSchema is what a Spot says it is.
const SpotSchema = "wheatear.incircuit/1"

// Spot is the schema wheatear.incircuit/1: a part among its surroundings.
type Spot struct {
	Schema      string              `json:"schema"`
	Jig         string              `json:"jig"`
	Calibration *string             `json:"calibration"`
	Part        *string             `json:"part"`
	Kind        impedance.Kind      `json:"kind"`
	Told        bool                `json:"told"` // whether the value is determined
	Unit        string              `json:"unit"`
	Value       *uncertain.Quantity `json:"value"`
	Series      *uncertain.Quantity `json:"series_ohm,omitempty"`
	Branches    []Branch            `json:"branches,omitempty"`
	Verdict     string              `json:"against_nominal,omitempty"`
	Why         string              `json:"why"`
	Assumed     string              `json:"assumed"`
	BestHz      *float64            `json:"best_hz"`
	Share       *float64            `json:"share"`
	Conducts    Level               `json:"conducts_from"`
	Models      []Network           `json:"models"`
	Misleading  []Apparent          `json:"misleading"`
	Health      []Health            `json:"health"`
	Readings    []Reading           `json:"readings"`
	Findings    []finding.Finding   `json:"findings"`

	// The rest is not in documents of older versions.
	LevelDBFS *float64   `json:"level_dbfs,omitempty"` // that the spot was read at; nil for recordings
	Junctions *Junctions `json:"junctions,omitempty"`  // nil where nothing depends on level
	Curve     *Curve     `json:"curve,omitempty"`      // of the likeliest network
	RestsOn   *Basis     `json:"rests_on,omitempty"`
}

// Branch is a branch that may be the part.
type Branch struct {
	Circuit string              `json:"circuit"`
	Value   *uncertain.Quantity `json:"value"`
	Series  *uncertain.Quantity `json:"series_ohm"`
}

// Network is a part with surroundings, as one that was tried.
type Network struct {
	Around  string              `json:"around"`
	Circuit string              `json:"circuit"`
	Value   *uncertain.Quantity `json:"value"`
	Chance  *float64            `json:"chance"` // p-value of the readings
	Weight  float64             `json:"weight"` // probability among those that were tried
}

// Apparent is what one reading would have shown.
type Apparent struct {
	FreqHz float64  `json:"frequency_hz"`
	Value  *float64 `json:"value"` // nil for another kind of part
	Off    *float64 `json:"off"`
}

// Health is one sign of wear.
type Health struct {
	What    string       `json:"what"`
	Value   *float64     `json:"value"`
	U       *float64     `json:"u"`
	Unit    string       `json:"unit,omitempty"`
	Outcome parts.Health `json:"outcome"`
	Basis   string       `json:"basis"`
}

// Junctions is what on the board depends on level.
type Junctions struct {
	Kind     level.Kind `json:"kind"`
	FromDBFS *float64   `json:"from_dbfs"` // where volts are not known
}

// Curve is a network over frequency, and the part alone.
type Curve struct {
	FreqsHz []float64  `json:"frequencies_hz"`
	Network []*float64 `json:"network_ohm"` // modulus
	Part    []*float64 `json:"part_ohm"`
}

// NewSpot is the document of an answer; nil for none, and then refused says why.
func NewSpot(m *Measurement, kind impedance.Kind, a *incircuit.Answer, refused string) *Spot {
	doc := &Spot{Schema: SpotSchema, Jig: m.Jig, Calibration: m.Calibration, Kind: kind, Unit: impedance.Element{Kind: kind}.Unit(), Why: refused,
		Models: []Network{}, Misleading: []Apparent{}, Health: []Health{}, Readings: m.Readings, Findings: m.Findings, RestsOn: m.RestsOn}
	if a == nil {
		return doc
	}
	doc.Told, doc.Why, doc.Assumed = a.Told, a.Why, a.Assumed
	doc.BestHz, doc.Share = aboveZero(a.BestHz), orNull(a.Share)
	if a.Told {
		doc.Value, doc.Verdict = &a.Value, a.Verdict
		if !a.Series.IsAbsent() {
			doc.Series = &a.Series
		}
	}
	for _, m := range a.Branches {
		doc.Branches = append(doc.Branches, Branch{m.Circuit, &m.Value, &m.Series})
	}
	for _, x := range a.Models {
		d := Network{Around: string(x.Around), Circuit: x.Circuit, Chance: orNull(x.Chance), Weight: x.Weight}
		if x.Circuit != "" {
			d.Value = &x.Value
		}
		doc.Models = append(doc.Models, d)
	}
	for _, x := range a.Misleading {
		doc.Misleading = append(doc.Misleading, Apparent{x.FreqHz, orNull(x.Value), orNull(x.Off)})
	}
	if len(a.Models) > 0 && a.Models[0].Circuit != "" {
		doc.Curve = curve(a.Models[0], m.Readings)
	}
	return doc
}

// curve is a network over the frequencies of readings.
func curve(m *incircuit.Model, readings []Reading) *Curve {
	const points = 100
	low, high := math.Inf(1), 0.0
	for _, r := range readings {
		if r.Trusted {
			low, high = math.Min(low, r.NominalHz), math.Max(high, r.NominalHz)
		}
	}
	if !(low < high) {
		return nil
	}
	c := &Curve{}
	for i := range points {
		hz := low * math.Pow(high/low, float64(i)/(points-1))
		c.FreqsHz = append(c.FreqsHz, hz)
		c.Network, c.Part = append(c.Network, orNull(cmplx.Abs(m.Network(hz)))), append(c.Part, orNull(cmplx.Abs(m.Part(hz))))
	}
	return c
}

// Judged adds signs of wear.
func (s *Spot) Judged(signs []parts.Sign) {
	for _, h := range signs {
		s.Health = append(s.Health, Health{h.What, orNull(h.Value), orNull(h.U), h.Unit, h.Outcome, h.Basis})
	}
}

// ReadAt adds the level that the spot was read at, and what was found to depend on
// level; nil for nothing. Volts are true volts, or else relative to full scale.
func (s *Spot) ReadAt(levelDBFS float64, study *level.Study, volts bool) {
	s.LevelDBFS = &levelDBFS
	if study == nil || study.Onset.VoltRMS <= 0 {
		return
	}
	s.Junctions = &Junctions{Kind: study.Kind}
	if volts {
		s.Conducts = Level{PartVRMS: orNull(study.Onset.VoltRMS), PartARMS: orNull(study.Onset.AmpereRMS)}
	} else {
		s.Junctions.FromDBFS = orNull(20 * math.Log10(study.Onset.VoltRMS*math.Sqrt2))
	}
}

func (s *Spot) choose() { Choose(s.Readings, "") }
