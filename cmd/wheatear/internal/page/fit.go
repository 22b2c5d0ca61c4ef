package page

import (
	"io"
	"math"
	"math/cmplx"
	"net/http"
	"slices"

	"example.org/wheatear/audio/kept"
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/export"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/sweep"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/identify"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/uncertain"
)

// FitView is what the last sweep says of circuits.
type FitView struct {
	Words string     `json:"words"` // the verdict in a sentence
	Check string     `json:"check"` // whether any circuit can have this sweep
	Fits  []FitOne   `json:"fits"`  // best first
	Curve []FitPoint `json:"curve"` // of the best

	Residuals []FitResidual `json:"residuals"`          // of the best
	Identity  *IdentityView `json:"identity,omitempty"` // where no circuit was named
}

// FitResidual is what a fit leaves of a reading, relative to the fit.
type FitResidual struct {
	FreqHz   float64 `json:"frequency_hz"`
	Modulus  float64 `json:"modulus"`
	PhaseRad float64 `json:"phase_rad"`
}

// IdentityView is what the part is, in words.
type IdentityView struct {
	Family     string   `json:"family"`
	Confidence string   `json:"confidence"`
	Value      string   `json:"value"` // with the marking it is nearest to; empty for none
	Reasons    []string `json:"reasons"`
}

// FitOne is one circuit with its values.
type FitOne struct {
	Name    string       `json:"name"`
	Circuit string       `json:"circuit"`
	Rival   bool         `json:"rival"` // the sweep cannot tell it from the best
	Words   string       `json:"words"`
	Values  []FittedPart `json:"values"`
}

// FittedPart is one value of a circuit with its 95 % interval.
type FittedPart struct {
	Name     string             `json:"name"`
	Text     string             `json:"text"`
	Quantity uncertain.Quantity `json:"quantity"`
	Unit     string             `json:"unit"`
}

// FitPoint is a place on the curve of a circuit.
type FitPoint struct {
	FreqHz     float64 `json:"frequency_hz"`
	ModulusOhm float64 `json:"modulus_ohm"`
	PhaseRad   float64 `json:"phase_rad"`
}

// leastFitted points are needed to say anything of a circuit.
const leastFitted = 5

// serveFit fits the circuit that is named, or finds which of the usual ones it is.
func (b *Bench) serveFit(r *http.Request) (any, error) {
	select { // one at a time: it takes a while
	case b.fitting <- struct{}{}:
		defer func() { <-b.fitting }()
	case <-r.Context().Done():
		return nil, r.Context().Err()
	}
	return b.Fit(r.URL.Query().Get("circuit"))
}

// Fit fits a circuit in the usual notation to the last sweep; for "" it chooses
// among those that the trade has names for.
func (b *Bench) Fit(notation string) (*FitView, error) {
	data, err := b.fitData()
	if err != nil {
		return nil, err
	}
	v := &FitView{Residuals: []FitResidual{}}
	if notation == "" {
		err = v.choose(data)
	} else {
		err = v.fit(notation, data)
	}
	if err != nil {
		return nil, err
	}
	if c, err := circuit.Check(data); err == nil {
		v.Check = c.Words()
	} else {
		v.Check = "it cannot be checked whether any circuit has this sweep: there are too few points"
	}
	return v, nil
}

// choose tells what the part is, and which of the usual circuits.
func (v *FitView) choose(d *circuit.Data) error {
	id, err := identify.Of(d)
	if err != nil {
		return conflict("it cannot be told what the part is: %w", err)
	}
	v.Identity = identityView(id)
	c := id.Choice
	if c == nil {
		return conflict("no circuit could be fitted: there are too few points")
	}
	v.Words = c.Words
	const shown = 5
	for _, f := range c.Fits[:min(shown, len(c.Fits))] {
		v.add(f.Name, f.Result, f.Rival)
	}
	v.curve(c.Fits[0].Result, d)
	return nil
}

func identityView(id *identify.Identity) *IdentityView {
	v := &IdentityView{Family: string(id.Family), Confidence: string(id.Confidence), Reasons: append([]string{}, id.Reasons...)}
	if id.Family == identify.Unknown {
		v.Family = ""
	}
	if !id.Value.IsAbsent() {
		v.Value = written(block.Of(id.Value, id.Family.Unit().String()))
		if id.Marking.Series != 0 {
			v.Value += ", marked " + id.Marking.Text
		}
	}
	return v
}

func (v *FitView) fit(notation string, d *circuit.Data) error {
	c, err := circuit.Parse(notation)
	if err != nil {
		return invalid("%w", err)
	}
	r, err := circuit.Fit(c, d, circuit.FitConfig{})
	if err != nil {
		return conflict("%w", err)
	}
	v.Words = r.Words()
	v.add(notation, r, true)
	v.curve(r, d)
	return nil
}

func (v *FitView) add(name string, r *circuit.Result, rival bool) {
	f := FitOne{Name: name, Circuit: r.Circuit.String(), Rival: rival, Words: r.Words()}
	for _, p := range r.Parameters {
		f.Values = append(f.Values, FittedPart{p.Name, written(block.Of(p.Quantity, p.Unit)), p.Quantity, p.Unit})
	}
	v.Fits = append(v.Fits, f)
}

// curve draws the circuit over the frequencies of the sweep.
func (v *FitView) curve(r *circuit.Result, d *circuit.Data) {
	const places = 200
	for _, e := range r.Residuals {
		if rel := e.Z / e.Model; finite(rel) { // of the first order: what modulus and phase differ by
			v.Residuals = append(v.Residuals, FitResidual{e.FreqHz, real(rel), imag(rel)})
		}
	}
	fitted, low, high := r.Fitted(), slices.Min(d.FreqHz), slices.Max(d.FreqHz)
	for k := range places {
		f := low * math.Pow(high/low, float64(k)/(places-1))
		if z := fitted.Impedance(f); finite(z) {
			v.Curve = append(v.Curve, FitPoint{f, cmplx.Abs(z), cmplx.Phase(z)})
		}
	}
}

// fitData is the last sweep with what its points have in common.
func (b *Bench) fitData() (*circuit.Data, error) {
	b.mu.Lock()
	d := b.desk
	var points []*sweep.Point
	if d != nil && d.sweep != nil {
		points = slices.Clone(d.sweep.state.Points)
	}
	b.mu.Unlock()
	var good []*fixture.Corrected
	data := &circuit.Data{}
	heard := map[string]*record.Analysis{}
	for _, p := range points {
		if !p.Trusted || p.Reading.State != impedance.OK {
			continue
		}
		c := p.Corrected
		if c.Model == nil { // from the file, which keeps no models
			var err error
			if c, err = d.readAgain(p, heard); err != nil {
				return nil, err
			}
		}
		good = append(good, c)
		data.FreqHz = append(data.FreqHz, c.NominalHz)
		data.Z = append(data.Z, complex(c.Reading.Re.Value, c.Reading.Im.Value))
	}
	if len(good) < leastFitted {
		return nil, conflict("%d points that can be trusted are needed, and there are %d: sweep a part first", leastFitted, len(good))
	}
	cov, err := fixture.SweepCovariance(good)
	data.Full = cov
	return data, err
}

// readAgain makes a point of its recordings once more; heard are those that were
// read already.
func (d *desk) readAgain(p *sweep.Point, heard map[string]*record.Analysis) (*fixture.Corrected, error) {
	tones := []float64{p.NominalHz}
	if d.sweep.Request.Together {
		tones = d.sweep.state.FrequenciesHz
	}
	var obs []fixture.Observation
	for _, file := range p.Files {
		if heard[file] == nil {
			a, err := d.hearAgain(file, tones)
			if err != nil {
				return nil, err
			}
			heard[file] = a
		}
		obs = append(obs, fixture.Observation{Role: fixture.PartRole, File: file, Analysis: heard[file]})
	}
	return live.Measure(d.jig, d.cal, obs, p.NominalHz, fixture.Options{})
}

// hearAgain analyses a recording that was kept.
func (d *desk) hearAgain(file string, tones []float64) (*record.Analysis, error) {
	run, err := kept.Read(d.path(recordingsName + "/" + base(file)))
	if err != nil {
		return nil, err
	}
	if run.Record == nil {
		return nil, conflict("%s holds no record", file)
	}
	sig := record.Signal{RateHz: run.Record.RateHz, Channels: run.Record.Channels, Bits: run.Record.Bits}
	return record.Analyze(sig, record.Config{TonesHz: tones, MainsHz: d.jig.MainsHz})
}

// writeSpice writes the circuit that is named, or the best of the usual ones, for
// circuit simulators.
func (b *Bench) writeSpice(w io.Writer, s *report.Sweep, r *http.Request) error {
	f, err := b.fitOf(s, r.URL.Query().Get("circuit"))
	if err != nil {
		return err
	}
	return export.Spice(w, f, "part")
}

// fitOf is the last sweep with the circuit that is named, or the best of the usual ones.
func (b *Bench) fitOf(s *report.Sweep, notation string) (*result.Fit, error) {
	b.fitting <- struct{}{}
	defer func() { <-b.fitting }()
	data, err := b.fitData()
	if err != nil {
		return nil, err
	}
	candidates, err := candidatesOf(notation)
	if err != nil {
		return nil, err
	}
	choice, allowed, err := circuit.ChooseNear(candidates, data)
	if err != nil {
		return nil, conflict("%w", err)
	}
	check, err := circuit.Check(data)
	if err != nil {
		check = nil // too few points
	}
	swept := &report.Swept{Sweep: *s, Data: data}
	return result.NewFit(swept.Document(check), choice, allowed), nil
}

// candidatesOf is the circuit in the usual notation, or the usual ones for "".
func candidatesOf(notation string) ([]circuit.Candidate, error) {
	if notation != "" {
		c, err := circuit.Parse(notation)
		if err != nil {
			return nil, invalid("%w", err)
		}
		return []circuit.Candidate{{Name: c.String(), Circuit: c}}, nil
	}
	var list []circuit.Candidate
	for _, n := range circuit.Named() {
		list = append(list, circuit.Candidate{Name: n.Name, Circuit: n.Circuit()})
	}
	return list, nil
}
