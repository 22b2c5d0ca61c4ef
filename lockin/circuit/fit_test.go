package circuit

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// sweepFor is a sweep of 31 points from 20 Hz to 20 kHz with 0.1 % noise.
func sweepFor(t *testing.T, text string, seed uint64, values ...float64) *Data {
	t.Helper()
	return noisy(mustParse(t, text), values, logFrequencies(20, 20e3, 31), 1e-3, rand.New(rand.NewPCG(seed, 3)))
}

func mustFit(t *testing.T, text string, d *Data, cfg FitConfig) *Result {
	t.Helper()
	r, err := Fit(mustParse(t, text), d, cfg)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func hasNote(r *Result, code, name string) bool {
	for _, n := range r.Notes {
		if n.Code == code && (name == "" || strings.Contains(strings.Join(n.Names, " "), name)) && n.Detail != "" && n.Advice != "" {
			return true
		}
	}
	return false
}

// An element that the sweep does not feel gets a bound and no value.
func TestUndeterminedUnknownsAreSaidSo(t *testing.T) {
	// 1 µF has 8 Ω at 20 kHz, of which 0.1 % are 0.06 µH; and 8 kΩ at 20 Hz, 0.1 % of
	// which is what 8 MΩ across it takes.
	d := sweepFor(t, "C + Rs", 1, 1e-6, 0.2)
	r := mustFit(t, "Rp // (C + Rs + Ls)", d, FitConfig{})
	for i, of := range []struct {
		state State
		value float64
	}{{AtLeast, 0}, {Determined, 1e-6}, {Determined, 0.2}, {AtMost, 0}} {
		p := r.Parameters[i]
		if p.State != of.state {
			t.Errorf("%s is %q (%v), want %q", p.Name, p.State, p.Quantity, of.state)
		}
		if of.state == Determined && !(p.Low < of.value && of.value < p.High) {
			t.Errorf("%s is %v, want %g inside", p.Name, p.Quantity, of.value)
		}
		if of.state != Determined && (!math.IsNaN(p.Value) || !hasNote(r, NoteUndetermined, p.Name)) {
			t.Errorf("%s is %q with the value %g and the notes %v", p.Name, p.State, p.Value, r.Notes)
		}
	}
	if p := r.Parameters[0]; !math.IsInf(p.High, 1) || !(p.Low > 1e5) {
		t.Errorf("leakage lies between %g and %g", p.Low, p.High)
	}
	if p := r.Parameters[3]; p.Low != 0 || !(p.High < 5e-7) {
		t.Errorf("inductance lies between %g and %g", p.Low, p.High)
	}
}

func TestBoundsAreKeptAndSaidSo(t *testing.T) {
	d := sweepFor(t, "Rs + C", 2, 100, 1e-6)
	r := mustFit(t, "Rs + C", d, FitConfig{Low: []float64{0, 2e-6}})
	if p := r.Parameters[1]; p.State != AtBound || p.Estimate != 2e-6 && math.Abs(p.Estimate/2e-6-1) > 1e-12 || !hasNote(r, NoteBound, "C") {
		t.Errorf("C is %q at %g, notes %v", p.State, p.Estimate, r.Notes)
	}
	if r.Agreement != Disagrees || r.Scale < 10 {
		t.Errorf("a bound that excludes the truth %s, scale %g", r.Agreement, r.Scale)
	}
	// A constant phase element that is a capacitor: its exponent ends at 1.
	r = mustFit(t, "Rs + Q", d, FitConfig{})
	if n := r.Parameters[2]; n.High > 1 || n.Low < 0.99 || n.Low >= 1 {
		t.Errorf("the exponent lies between %g and %g", n.Low, n.High)
	}
}

// Two resistors in series, of which a sweep tells only the sum.
func TestCorrelatedUnknownsAreSaidSo(t *testing.T) {
	r := mustFit(t, "Ra + Rb + C", sweepFor(t, "Rs + C", 3, 100, 1e-6), FitConfig{})
	for _, p := range r.Parameters[:2] {
		if p.State != AtMost || math.Abs(p.High/100-1) > 0.02 {
			t.Errorf("%s is %q up to %g, want at most 100", p.Name, p.State, p.High)
		}
	}
	// A resonance far above the band: L is known from below, C hardly.
	r = mustFit(t, "Cp // (Rm + Lm + Cm)", sweepFor(t, "Cp // (Rm + Lm + Cm)", 4, 10e-9, 50, 1e-3, 1e-9), FitConfig{})
	if !hasNote(r, NoteCorrelated, "") && !hasNote(r, NoteUndetermined, "") {
		t.Errorf("nothing is said of %v", r.Parameters)
	}
}

func TestWordsSayWhatChiSquareMeans(t *testing.T) {
	d := sweepFor(t, "Rs + C // Rp", 5, 100, 1e-6, 1e3)
	if w := mustFit(t, "Rs + C // Rp", d, FitConfig{}).Words(); !strings.Contains(w, "as large as") {
		t.Errorf("the right circuit: %q", w)
	}
	bad := mustFit(t, "Rs + C", d, FitConfig{})
	if w := bad.Words(); !strings.Contains(w, "more is left") || !hasNote(bad, NoteDisagrees, "") {
		t.Errorf("the wrong circuit: %q, %v", w, bad.Notes)
	}
	for i := range d.Cov {
		d.Cov[i].ReRe, d.Cov[i].ImIm = 100*d.Cov[i].ReRe, 100*d.Cov[i].ImIm
	}
	close := mustFit(t, "Rs + C // Rp", d, FitConfig{})
	if close.Agreement != TooClose || !strings.Contains(close.Words(), "less is left") || !hasNote(close, NoteTooClose, "") {
		t.Errorf("readings better than stated: %q", close.Words())
	}
	d.Cov = nil
	if bad = mustFit(t, "Rs + C", d, FitConfig{}); bad.Agreement != Disagrees || !strings.Contains(bad.Words(), "curve") {
		t.Errorf("the wrong circuit without known noise: %s, %q", bad.Agreement, bad.Words())
	}
}

// Scaling all impedances, or all frequencies, scales the values and nothing else.
func TestFitScales(t *testing.T) {
	d := sweepFor(t, "Cp // (Rs + L)", 6, 5e-9, 12, 0.05)
	base := mustFit(t, "Cp // (Rs + L)", d, FitConfig{})
	big := &Data{FreqHz: d.FreqHz}
	for i, z := range d.Z {
		big.Z = append(big.Z, 1e4*z)
		big.Cov = append(big.Cov, Cov{1e8 * d.Cov[i].ReRe, 0, 1e8 * d.Cov[i].ImIm})
	}
	scaled := mustFit(t, "Cp // (Rs + L)", big, FitConfig{})
	for i, factor := range []float64{1e-4, 1e4, 1e4} {
		a, b := base.Parameters[i], scaled.Parameters[i]
		if math.Abs(b.Estimate/a.Estimate/factor-1) > 1e-6 || math.Abs(b.U/a.U/factor-1) > 1e-4 {
			t.Errorf("%s is %g ± %g, and %g ± %g with impedances times 1e4", a.Name, a.Estimate, a.U, b.Estimate, b.U)
		}
	}
	if math.Abs(scaled.ChiSquare/base.ChiSquare-1) > 1e-6 {
		t.Errorf("chi-square went from %g to %g", base.ChiSquare, scaled.ChiSquare)
	}
}

func TestFitIsRepeatable(t *testing.T) {
	d := sweepFor(t, "Re + Le + Res // Les // Ces", 7, 6, 1e-3, 30, 0.01, 2e-4)
	a, b := mustFit(t, "Re + Le + Res // Les // Ces", d, FitConfig{}), mustFit(t, "Re + Le + Res // Les // Ces", d, FitConfig{})
	for i := range a.Parameters {
		if a.Parameters[i] != b.Parameters[i] {
			t.Errorf("%v the first time, %v the second", a.Parameters[i], b.Parameters[i])
		}
	}
	if got := a.Fitted().Impedance(1e3); got != a.Circuit.Impedance(1e3, a.Values()...) {
		t.Errorf("the fitted circuit has %v", got)
	}
}

// Intervals from the profile agree with those of the covariance where chi-square is a
// parabola: within 2 % of their width.
func TestProfileAgreesWithCovariance(t *testing.T) {
	d := sweepFor(t, "Cp // (Rs + L)", 8, 5e-9, 12, 0.05)
	straight, profile := mustFit(t, "Cp // (Rs + L)", d, FitConfig{}), mustFit(t, "Cp // (Rs + L)", d, FitConfig{Profile: true})
	for i, p := range straight.Parameters {
		q := profile.Parameters[i]
		if width := p.High - p.Low; math.Abs(q.Low-p.Low) > 0.02*width || math.Abs(q.High-p.High) > 0.02*width {
			t.Errorf("%s is from %g to %g, by profile from %g to %g", p.Name, p.Low, p.High, q.Low, q.High)
		}
	}
}

func TestStartIsUsed(t *testing.T) {
	d := sweepFor(t, "Rs + C", 9, 100, 1e-6)
	r := mustFit(t, "Rs + C", d, FitConfig{Start: []float64{90, 1.2e-6}})
	if r.Tries != 0 || r.Agreement != Agrees {
		t.Errorf("%d tries beside a good start, %s", r.Tries, r.Agreement)
	}
}

func TestFitRefuses(t *testing.T) {
	c, good := mustParse(t, "Rs + C"), sweepFor(t, "Rs + C", 10, 100, 1e-6)
	change := func(f func(*Data)) *Data {
		d := *good
		d.FreqHz, d.Z = append([]float64(nil), good.FreqHz...), append([]complex128(nil), good.Z...)
		d.Cov = append([]Cov(nil), good.Cov...)
		f(&d)
		return &d
	}
	for name, of := range map[string]struct {
		c    *Circuit
		d    *Data
		cfg  FitConfig
		want error
	}{
		"no sweep":       {c, nil, FitConfig{}, ErrConfig},
		"no circuit":     {nil, good, FitConfig{}, ErrConfig},
		"no unknown":     {mustParse(t, "R 1"), good, FitConfig{}, ErrConfig},
		"empty":          {c, &Data{}, FitConfig{}, ErrData},
		"lengths":        {c, change(func(d *Data) { d.Z = d.Z[1:] }), FitConfig{}, ErrData},
		"covariances":    {c, change(func(d *Data) { d.Cov = d.Cov[1:] }), FitConfig{}, ErrData},
		"times":          {c, change(func(d *Data) { d.AtS = []float64{1} }), FitConfig{}, ErrData},
		"zero frequency": {c, change(func(d *Data) { d.FreqHz[3] = 0 }), FitConfig{}, ErrData},
		"not a number":   {c, change(func(d *Data) { d.Z[3] = complex(math.NaN(), 0) }), FitConfig{}, ErrData},
		"no variance":    {c, change(func(d *Data) { d.Cov[3] = Cov{} }), FitConfig{}, ErrData},
		"correlation 1":  {c, change(func(d *Data) { d.Cov[3] = Cov{1, 1, 1} }), FitConfig{}, ErrData},
		"few points":     {mustParse(t, "Ra // Ca + Rb // Cb"), change(func(d *Data) { d.FreqHz, d.Z, d.Cov = d.FreqHz[:1], d.Z[:1], d.Cov[:1] }), FitConfig{}, ErrConfig},
		"starts":         {c, good, FitConfig{Start: []float64{1}}, ErrConfig},
		"negative bound": {c, good, FitConfig{Low: []float64{-1, 0}}, ErrConfig},
		"crossed bounds": {c, good, FitConfig{Low: []float64{5, 0}, High: []float64{4, 0}}, ErrConfig},
		"tries":          {c, good, FitConfig{Tries: -1}, ErrConfig},
	} {
		_, err := Fit(of.c, of.d, of.cfg)
		if !errors.Is(err, of.want) || !strings.HasPrefix(err.Error(), "circuit: ") {
			t.Errorf("%s: error %v, want %v", name, err, of.want)
		}
	}
	if _, err := Check(change(func(d *Data) { d.FreqHz, d.Z, d.Cov = d.FreqHz[:7], d.Z[:7], d.Cov[:7] })); !errors.Is(err, ErrData) {
		t.Errorf("a check of seven points: %v", err)
	}
	if _, err := Check(nil); !errors.Is(err, ErrData) {
		t.Errorf("a check of nothing: %v", err)
	}
}

func TestChooseBetweenCircuits(t *testing.T) {
	d := sweepFor(t, "Cp // (Rs + L // Rc)", 11, 5e-9, 12, 0.05, 20e3)
	c := mustChoose(t, d, "Cp // (Rs + L)", "Cp // (Rs + L // Rc)", "Rs + C", "Cp // (Rs + L // Rc + Rp // Cq)")
	if c.Verdict != Chosen || c.Fits[0].Name != "Cp // (Rs + L // Rc)" {
		t.Errorf("%s: %s (%s)", c.Verdict, c.Fits[0].Name, c.Words)
	}
	// Two circuits that have the same impedance for matching values.
	d = sweepFor(t, "Rs + C // Rp", 12, 100, 1e-6, 1e3)
	if c = mustChoose(t, d, "Rs + C // Rp", "Rp // (Rs + C)", "Rs + C"); c.Verdict != NotDistinguishable || !c.Fits[1].Rival || c.Fits[2].Rival {
		t.Errorf("%s: %s", c.Verdict, c.Words)
	}
	if c = mustChoose(t, d, "Rs + L", "R"); c.Verdict != NoneAgrees {
		t.Errorf("%s: %s", c.Verdict, c.Words)
	}
	if _, err := Choose([]Candidate{{Name: "fixed", Circuit: mustParse(t, "R 1")}}, d); !errors.Is(err, ErrConfig) {
		t.Errorf("a choice of none: %v", err)
	}
}

func mustChoose(t *testing.T, d *Data, texts ...string) *Choice {
	t.Helper()
	var candidates []Candidate
	for _, text := range texts {
		candidates = append(candidates, Candidate{Name: text, Circuit: mustParse(t, text)})
	}
	c, err := Choose(candidates, d)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The four sound and unsound pairs of a sweep and a circuit, in words.
func TestCheckAndFitTogether(t *testing.T) {
	d := sweepFor(t, "Rs + C // Rp", 13, 100, 1e-6, 1e3)
	c, err := Check(d)
	if err != nil {
		t.Fatal(err)
	}
	if w := c.With(mustFit(t, "Rs + C // Rp", d, FitConfig{})); !strings.Contains(w, "circuit agrees") {
		t.Errorf("right circuit, sound sweep: %q", w)
	}
	if w := c.With(mustFit(t, "Rs + C", d, FitConfig{})); !strings.Contains(w, "circuit is wrong") {
		t.Errorf("wrong circuit, sound sweep: %q", w)
	}
	driftBy(0.05)(d)
	if c, err = Check(d); err != nil {
		t.Fatal(err)
	}
	if w := c.With(mustFit(t, "Rs + C // Rp", d, FitConfig{})); !strings.Contains(w, "drifted") {
		t.Errorf("right circuit, drifting sweep: %q", w)
	}
	if math.Abs(c.Drift-0.05) > 4*c.DriftU+0.003 || !(c.DriftU < 0.01) {
		t.Errorf("a drift of 5 %% is found as %g ± %g", c.Drift, c.DriftU)
	}
	d.AtS = nil
	if c, err = Check(d); err != nil || c.Verdict != DriftOrLevel {
		t.Errorf("without times: %s, %v", c.Verdict, err)
	}
	if len(c.Residuals) != len(d.Z) || !(c.Rms > 1e-4 && c.Rms < 0.05) || c.Residuals[3].FreqHz != d.FreqHz[3] {
		t.Errorf("%d residuals, rms %g", len(c.Residuals), c.Rms)
	}
}

func TestSolveRefusesAndKeepsBounds(t *testing.T) {
	line := func(dst, x []float64) { dst[0], dst[1] = x[0]-3, x[0]+x[1]-1 }
	s, err := Solve(Problem{Residuals: line, Count: 2, Start: []float64{0, 0}, Low: []float64{-9, -1}, High: []float64{2, 9}})
	if err != nil || !s.Converged || math.Abs(s.X[0]-2) > 1e-9 || math.Abs(s.X[1]+1) > 1e-6 {
		t.Errorf("%+v, %v; want (2, −1)", s, err)
	}
	nan := func(dst, _ []float64) { dst[0], dst[1] = math.NaN(), 0 }
	if _, err := Solve(Problem{Residuals: nan, Count: 2, Start: []float64{1}}); !errors.Is(err, ErrNoNumber) {
		t.Errorf("residuals that are no numbers: %v", err)
	}
	for name, p := range map[string]Problem{
		"no start":  {Residuals: line, Count: 2},
		"no model":  {Count: 2, Start: []float64{1}},
		"few":       {Residuals: line, Count: 1, Start: []float64{1, 1}},
		"bounds":    {Residuals: line, Count: 2, Start: []float64{1, 1}, Low: []float64{1}},
		"reversed":  {Residuals: line, Count: 2, Start: []float64{1, 1}, Low: []float64{1, 1}, High: []float64{0, 2}},
		"no number": {Residuals: line, Count: 2, Start: []float64{1, 1}, Low: []float64{math.NaN(), 1}, High: []float64{0, 2}},
	} {
		if _, err := Solve(p); !errors.Is(err, ErrProblem) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
