package report

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/incircuit"
	"example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Spot is a part among its surroundings, as read in circuit.
type Spot struct {
	Measurement
	Part    string
	Unit    string // of what is asked for
	LevelDB float64
	Study   *level.Study // of the level; nil where it was not looked at
	Answer  *incircuit.Answer
	Refused string // why there is no answer at all
	Health  []parts.Sign

	kind impedance.Kind
}

// Ask finds the answer from the readings that can be trusted.
func (s *Spot) Ask(good []*fixture.Corrected, q incircuit.Question) error {
	s.kind = q.Kind
	if len(good) < 3 {
		return errors.New("fewer than three readings can be trusted, and one frequency alone cannot tell a part from its surroundings")
	}
	sweep := &incircuit.Sweep{}
	for _, c := range good {
		sweep.FreqHz = append(sweep.FreqHz, c.Reading.FreqHz.Value)
		sweep.Ohm = append(sweep.Ohm, complex(c.Reading.Re.Value, c.Reading.Im.Value))
	}
	cov, err := fixture.SweepCovariance(good)
	if err != nil {
		return err
	}
	sweep.Cov = cov
	s.Answer, err = incircuit.Ask(sweep, q)
	return err
}

// JudgeHealth holds the part against the usual limits of electrolytics: the branch that
// the answer is about, never the whole spot.
func (s *Spot) JudgeHealth(e parts.NewElectrolytic, tolerance parts.Tolerance) {
	if s.Answer == nil || !s.Answer.Told {
		return
	}
	farad, ohm := middle(s.Answer.Value), middle(s.Answer.Series)
	s.Health = append(s.Health, e.Capacitance(farad.Value, farad.U, tolerance.Minus))
	if !math.IsInf(ohm.U, 0) {
		s.Health = append(s.Health, e.Resistance(ohm.Value, ohm.U))
	}
}

// middle is the middle of an interval, with the standard uncertainty that it stands for.
func middle(q uncertain.Quantity) uncertain.Quantity {
	q.Value, q.U = (q.Low+q.High)/2, (q.High-q.Low)/2/1.96
	return q
}

// WriteSpot writes it for people.
func WriteSpot(w io.Writer, s *Spot) error {
	var b bytes.Buffer
	s.heading(&b)
	Wrap(&b, "", s.spot())
	fmt.Fprintln(&b)
	Wrap(&b, "", s.answer())
	if s.Answer != nil {
		s.reasons(&b)
	}
	if len(s.Health) > 0 {
		fmt.Fprintln(&b, "\nWear, by usual limits (common practice, from memory):")
		for _, h := range s.Health {
			Wrap(&b, "  ", fmt.Sprintf("%s: %s, %s", h.What, Tie(uncertain.Format(h.Value, h.U, h.Unit)), h.Outcome))
		}
	}
	if len(s.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, s.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// spot says what was read, and at which level.
func (s *Spot) spot() string {
	name := s.Part
	if name == "" {
		name = s.source()
	}
	text := name + ": " + plural(len(s.Readings), "frequency")
	if n := len(s.Readings); n > 1 {
		text += " from " + Tie(place(s.Readings[0].NominalHz)) + " to " + Tie(place(s.Readings[n-1].NominalHz))
	}
	switch {
	case s.Study == nil:
		return text + "."
	case s.Study.Onset.VoltRMS > 0:
		return text + fmt.Sprintf(", at %s. Something on the board depends on level from %s on (%s), so that the level stays below.",
			Tie(fmt.Sprintf("%.0f dBFS", s.LevelDB)), Tie(voltLevel(s.Jig, s.Study.Onset.VoltRMS)), s.Study.Kind)
	}
	return text + fmt.Sprintf(", at %s. Nothing on the board depends on level up to there.", Tie(fmt.Sprintf("%.0f dBFS", s.LevelDB)))
}

// answer is the value, or that it cannot be told.
func (s *Spot) answer() string {
	switch {
	case s.Answer == nil:
		return "UNDETERMINED IN CIRCUIT: " + s.Refused + "."
	case !s.Answer.Told:
		return "UNDETERMINED IN CIRCUIT: " + s.Answer.Why + "."
	}
	letter := map[string]string{"F": "C", "H": "L", "Ω": "R"}[s.Unit]
	text := letter + " of the part: " + Tie(lopsided(s.Answer.Value, s.Unit))
	if known(s.Answer.Series) {
		text += ", series resistance " + Tie(lopsided(s.Answer.Series, "Ω"))
	}
	text += ", " + s.Answer.Why + "."
	if s.Answer.Verdict != "" {
		text += " " + upper(s.Answer.Verdict) + "."
	}
	if s.Answer.Assumed != "" {
		text += " " + upper(s.Answer.Assumed) + "."
	}
	return text
}

// lopsided writes a quantity with both ends of its interval where they are not about
// equally far.
func lopsided(q uncertain.Quantity, unit string) string {
	below, above := q.Value-q.Low, q.High-q.Value
	if math.Max(below, above) <= 1.5*math.Min(below, above) {
		return short(q, unit)
	}
	if math.IsInf(q.High, 0) || q.Low <= 0 {
		return full(q, unit)
	}
	of := func(v float64) string { return uncertain.Format(round3(v), 0, unit) }
	return of(q.Value) + " (" + of(q.Low) + " to " + of(q.High) + ")"
}

// reasons are the networks tried, and what single readings would have shown.
func (s *Spot) reasons(b *bytes.Buffer) {
	fmt.Fprintln(b, "\nNetworks that were tried (probability, p-value of the readings):")
	for _, n := range s.networks() {
		Wrap(b, "  "+padLeft(n[1], 5)+"  "+padLeft(n[2], 8)+"  ", n[0])
	}
	if s.Answer.Told {
		fmt.Fprintln(b)
		Wrap(b, "", s.single())
		columns(b, s.misleading(), padLeft)
	}
}

// networks are those that were tried and count: circuit, weight, chance.
func (s *Spot) networks() [][]string {
	var rows [][]string
	for i, m := range s.Answer.Models {
		if i >= 4 || i > 0 && m.Weight < 0.01 {
			break
		}
		text := m.Circuit
		if text == "" {
			text = "with " + string(m.Around) + " in parallel"
		}
		rows = append(rows, []string{text, percent(m.Weight), byChance(m.Chance)})
	}
	return rows
}

// single says where one reading would do best.
func (s *Spot) single() string {
	return fmt.Sprintf("Read at one frequency, it is best at %s, where %.0f %% of what is seen is the part. Elsewhere a single reading would have shown:",
		Tie(place(s.Answer.BestHz)), 100*s.Answer.Share)
}

// misleading is what single readings would have shown, below the heads.
func (s *Spot) misleading() [][]string {
	rows := [][]string{{"", "reads as", "off by"}}
	for _, x := range thinned(s.Answer.Misleading) {
		row := []string{place(x.FreqHz), "another kind of part", ""}
		if !math.IsNaN(x.Value) {
			row[1], row[2] = uncertain.Format(round3(x.Value), 0, s.Unit), fmt.Sprintf("%+.1f %%", 100*x.Off)
		}
		rows = append(rows, row)
	}
	return rows
}

// thinned keeps a handful, the ends among them.
func thinned(list []incircuit.Apparent) []incircuit.Apparent {
	const most = 6
	if len(list) <= most {
		return list
	}
	var out []incircuit.Apparent
	for i := range most {
		out = append(out, list[i*(len(list)-1)/(most-1)])
	}
	return out
}

// Chart draws the readings and the likeliest network over frequency.
func (s *Spot) Chart() *plot.Chart {
	read := plot.Series{Name: "reading with its 95 % interval", Style: plot.Dots}
	for _, r := range s.Readings {
		if r.Trusted {
			read.X, read.Y = append(read.X, r.NominalHz), append(read.Y, r.Corrected.Reading.Modulus)
		}
	}
	network := plot.Series{Name: "likeliest network", Style: plot.Line}
	alone := plot.Series{Name: "the part alone", Style: plot.Dashed}
	m := s.Answer.Models[0]
	low, high := read.X[0], read.X[len(read.X)-1]
	var whole, part []float64
	for i := range 200 {
		hz := low * math.Pow(high/low, float64(i)/199)
		network.X, alone.X = append(network.X, hz), append(alone.X, hz)
		whole, part = append(whole, cabs(m.Network(hz))), append(part, cabs(m.Part(hz)))
	}
	network.Y, alone.Y = plot.Exactly(whole), plot.Exactly(part)
	return &plot.Chart{Title: s.spotTitle(), Note: s.correction(), X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "impedance |Z|", Unit: "Ω", Log: true}, Series: []plot.Series{read, network, alone}}}}
}

func (s *Spot) spotTitle() string {
	if s.Part != "" {
		return s.Part + " in circuit"
	}
	return s.source() + " in circuit"
}

func cabs(z complex128) float64 { return math.Hypot(real(z), imag(z)) }

// spotDoc is the schema wheatear.incircuit/1.
type spotDoc struct {
	Schema      string              `json:"schema"`
	Jig         string              `json:"jig"`
	Calibration *string             `json:"calibration"`
	Part        *string             `json:"part"`
	Kind        impedance.Kind      `json:"kind"`
	Told        bool                `json:"told"`
	Unit        string              `json:"unit"`
	Value       *uncertain.Quantity `json:"value"`
	Series      *uncertain.Quantity `json:"series_ohm,omitempty"`
	Branches    []branchDoc         `json:"branches,omitempty"`
	Verdict     string              `json:"against_nominal,omitempty"`
	Why         string              `json:"why"`
	Assumed     string              `json:"assumed"`
	BestHz      *float64            `json:"best_hz"`
	Share       *float64            `json:"share"`
	Conducts    levelDoc            `json:"conducts_from"`
	Models      []modelDoc          `json:"models"`
	Misleading  []apparentDoc       `json:"misleading"`
	Health      []healthDoc         `json:"health"`
	Readings    []readingDoc        `json:"readings"`
	Findings    []finding.Finding   `json:"findings"`
}

type branchDoc struct {
	Circuit string              `json:"circuit"`
	Value   *uncertain.Quantity `json:"value"`
	Series  *uncertain.Quantity `json:"series_ohm"`
}

type modelDoc struct {
	Around  string              `json:"around"`
	Circuit string              `json:"circuit"`
	Value   *uncertain.Quantity `json:"value"`
	Chance  *float64            `json:"chance"`
	Weight  float64             `json:"weight"`
}

type apparentDoc struct {
	FreqHz float64  `json:"frequency_hz"`
	Value  *float64 `json:"value"`
	Off    *float64 `json:"off"`
}

type healthDoc struct {
	What    string       `json:"what"`
	Value   *float64     `json:"value"`
	U       *float64     `json:"u"`
	Outcome parts.Health `json:"outcome"`
	Basis   string       `json:"basis"`
}

// SpotJSON writes it for programs.
func SpotJSON(w io.Writer, s *Spot) error {
	m := s.Document()
	doc := spotDoc{Schema: "wheatear.incircuit/1", Jig: m.Jig, Calibration: m.Calibration, Kind: s.kind, Unit: s.Unit, Why: s.Refused,
		Models: []modelDoc{}, Misleading: []apparentDoc{}, Health: []healthDoc{}, Readings: m.Readings, Findings: m.Findings}
	if s.Part != "" {
		doc.Part = &s.Part
	}
	if s.Study != nil && s.Study.Onset.VoltRMS > 0 && s.Jig.FullScaleVolt != nil {
		doc.Conducts = levelDoc{PartVRMS: orNull(s.Study.Onset.VoltRMS), PartARMS: orNull(s.Study.Onset.AmpereRMS)}
	}
	for _, h := range s.Health {
		doc.Health = append(doc.Health, healthDoc{h.What, orNull(h.Value), orNull(h.U), h.Outcome, h.Basis})
	}
	if a := s.Answer; a != nil {
		doc.Told, doc.Why, doc.Assumed = a.Told, a.Why, a.Assumed
		doc.BestHz, doc.Share = above0(a.BestHz), orNull(a.Share)
		if a.Told {
			doc.Value, doc.Verdict = &a.Value, a.Verdict
			if known(a.Series) {
				doc.Series = &a.Series
			}
		}
		for _, m := range a.Branches {
			doc.Branches = append(doc.Branches, branchDoc{m.Circuit, &m.Value, &m.Series})
		}
		for _, x := range a.Models {
			d := modelDoc{Around: string(x.Around), Circuit: x.Circuit, Chance: orNull(x.Chance), Weight: x.Weight}
			if x.Circuit != "" {
				d.Value = &x.Value
			}
			doc.Models = append(doc.Models, d)
		}
		for _, x := range a.Misleading {
			doc.Misleading = append(doc.Misleading, apparentDoc{x.FreqHz, orNull(x.Value), orNull(x.Off)})
		}
	}
	return writeJSON(w, doc)
}
