package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/cli"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// The parts of the JSON that are scored.
type (
	quantity struct{ Value, U, Low, High *float64 }
	finding  struct{ Code, Severity, File, Detail string }
	reading  struct {
		Nominal float64 `json:"frequency_nominal_hz"`
		State   string
		Z       struct {
			Re *quantity `json:"re_ohm"`
			Im *quantity `json:"im_ohm"`
		}
		Trusted  bool
		Findings []string
	}
	measured struct {
		Readings []reading
		Findings []finding
	}
)

// score is one reading held against the truth. NaN where it has no figures.
type score struct {
	name     string
	relative float64 // |Z| error over its tolerance
	phase    float64 // phase error over its tolerance
	percent  float64 // |Z| error in percent
	milli    float64 // phase error in mrad
	inside   int     // of the intervals of Re and Im, those that hold the truth
	ratios   []float64
	state    string
	findings []string
}

// worst is the larger of the two errors over their tolerances; a reading without
// figures is infinitely wrong.
func (s score) worst() float64 {
	if w := math.Max(s.relative, s.phase); !math.IsNaN(w) {
		return w
	}
	return math.Inf(1)
}

// held holds a reading against the truth.
func held(name string, r reading, want truth) score {
	nan := math.NaN()
	s := score{name: fmt.Sprintf("%s@%g", name, want.Hz), relative: nan, phase: nan, percent: nan, milli: nan, state: r.State, findings: r.Findings}
	if r.Z.Re == nil || r.Z.Im == nil || r.Z.Re.Value == nil || r.Z.Im.Value == nil {
		return s
	}
	got, right := complex(*r.Z.Re.Value, *r.Z.Im.Value), complex(want.Re, want.Im)
	s.percent = 100 * math.Abs(cmplx.Abs(got)/cmplx.Abs(right)-1)
	s.milli = 1000 * math.Abs(cmplx.Phase(got/right))
	s.relative, s.phase = s.percent/100 / *want.TolRel, s.milli / *want.TolMilli
	for _, axis := range []struct {
		q    *quantity
		want float64
	}{{r.Z.Re, want.Re}, {r.Z.Im, want.Im}} {
		low, high := bound(axis.q.Low, math.Inf(-1)), bound(axis.q.High, math.Inf(1))
		if axis.want >= low && axis.want <= high {
			s.inside++
		}
		s.ratios = append(s.ratios, math.Abs(*axis.q.Value-axis.want)/((high-low)/2))
	}
	return s
}

func bound(v *float64, unbounded float64) float64 {
	if v == nil {
		return unbounded
	}
	return *v
}

// result gathers everything about a folder of scenarios.
type result struct {
	scores   []score
	verdicts []string // what each faulty file was found to be
	misses   []string // what is wrong, in words
}

func (r *result) missf(format string, args ...any) {
	r.misses = append(r.misses, fmt.Sprintf(format, args...))
}

// command runs wheatear within the process. A document that is not as published is no
// status at all.
func command(args ...string) (status int, stdout []byte, stderr string) {
	var out, talk bytes.Buffer
	status = cli.Run(context.Background(), args, strings.NewReader(""), &out, &talk)
	if slices.Contains(args, "--json") && out.Len() > 0 {
		if err := clitest.ConformsText(out.Bytes()); err != nil {
			return -1, out.Bytes(), err.Error() + "\n" + talk.String()
		}
	}
	return status, out.Bytes(), talk.String()
}

// evaluate calibrates and measures one scenario and adds to the result.
func (r *result) evaluate(t *testing.T, s *scenario) {
	t.Helper()
	jig := filepath.Join(t.TempDir(), "jig.toml")
	if err := os.WriteFile(jig, []byte(s.jig()), 0o666); err != nil {
		t.Fatal(err)
	}
	common := []string{"--jig", jig, "--at", s.at(), "--json"}
	calibration := r.calibrate(s, common, filepath.Join(filepath.Dir(jig), "cal.json"))
	for _, session := range s.sessions() {
		args := append([]string{"measure"}, common...)
		if calibration != "" {
			args = append(args, "--calibration", calibration)
		}
		for _, f := range session.files {
			args = append(args, "--recording", filepath.Join(s.Dir, f.File))
		}
		r.measure(session, args)
	}
}

// calibrate returns the calibration file, or nothing where there is none.
func (r *result) calibrate(s *scenario, common []string, file string) string {
	if !s.Calibration.Present {
		return ""
	}
	status, out, talk := command(append(append([]string{"calibrate", "--out", file}, common...), s.standards()...)...)
	var doc measured
	if err := json.Unmarshal(out, &doc); err != nil {
		r.missf("%s: calibrate: status %d, %v: %s", s.ID, status, err, talk)
		return ""
	}
	for _, f := range s.Files {
		if f.Role == "part" {
			continue
		}
		findings := only(doc.Findings, f.File)
		if f.Verdict != "ok" {
			findings = doc.Findings // what one standard cannot tell, another does: an open is the same with its inputs exchanged
		}
		r.judge(s.ID+"/"+f.File, f, findings, status == 3)
	}
	if status != 0 {
		return ""
	}
	return file
}

// only picks the findings about one file and those about none in particular.
func only(findings []finding, file string) []finding {
	var out []finding
	for _, f := range findings {
		if f.File == "" || filepath.Base(f.File) == file {
			out = append(out, f)
		}
	}
	return out
}

func (r *result) measure(s session, args []string) {
	status, out, talk := command(args...)
	var doc measured
	if err := json.Unmarshal(out, &doc); err != nil || status != 0 && status != 3 {
		r.missf("%s: measure: status %d, %v: %s", s.name, status, err, talk)
		return
	}
	for _, f := range s.files {
		refused := slices.ContainsFunc(doc.Readings, func(r reading) bool { return !r.Trusted })
		r.judge(s.name, f, only(doc.Findings, f.File), refused)
	}
	for _, want := range s.truths {
		if want.TolRel == nil || want.TolMilli == nil {
			continue
		}
		i := slices.IndexFunc(doc.Readings, func(r reading) bool { return r.Nominal == want.Hz })
		if i < 0 {
			r.missf("%s: no reading at %g Hz", s.name, want.Hz)
			continue
		}
		r.scores = append(r.scores, held(s.name, doc.Readings[i], want))
	}
}

// judge holds findings against the expected verdict of a file. What a contract
// calls a warning leaves the reading as it is.
func (r *result) judge(name string, f scenarioFile, findings []finding, refused bool) {
	var seen []string
	grave, warned := false, false
	for _, g := range findings {
		seen = append(seen, g.Code+"("+g.Severity+")")
		if g.Severity == "invalid" {
			grave = true
		}
		if slices.Contains(f.expected(), g.Code) && g.Severity == "warning" {
			warned = true
		}
	}
	if f.Verdict == "ok" {
		if grave {
			r.missf("%s: a clean file is refused: %s", name, explained(findings))
		}
		return
	}
	r.verdicts = append(r.verdicts, fmt.Sprintf("%-40s %-14s %s", name, f.Verdict, strings.Join(seen, " ")))
	if !slices.ContainsFunc(findings, func(g finding) bool { return slices.Contains(f.expected(), g.Code) }) {
		r.missf("%s: is %s, was found %s", name, strings.Join(f.expected(), " or "), strings.Join(seen, " "))
	} else if !refused && !warned {
		r.missf("%s: is %s, and the reading is trusted", name, f.Verdict)
	}
}

func explained(findings []finding) string {
	var out []string
	for _, f := range findings {
		if f.Severity == "invalid" {
			out = append(out, f.Code+": "+f.Detail)
		}
	}
	return strings.Join(out, "; ")
}

// summary is what the scores come to together.
type summary struct {
	readings, within   int     // readings, and those within both tolerances
	intervals, holding int     // intervals, and those that hold the truth
	median             float64 // of |error| over half-width
}

func (r *result) summary() summary {
	var s summary
	var ratios []float64
	for _, sc := range r.scores {
		s.readings++
		if sc.worst() <= 1 {
			s.within++
		}
		s.intervals += len(sc.ratios)
		s.holding += sc.inside
		ratios = append(ratios, sc.ratios...)
	}
	if slices.Sort(ratios); len(ratios) > 0 {
		s.median = ratios[len(ratios)/2]
	}
	return s
}

// table prints the scores, worst first.
func (r *result) table() string {
	var b strings.Builder
	slices.SortStableFunc(r.scores, func(a, c score) int {
		if a.worst() > c.worst() {
			return -1
		}
		return 1
	})
	fmt.Fprintf(&b, "%-44s %7s %7s %9s %9s  %-6s %-12s %s\n", "reading", "|Z|/tol", "ph/tol", "|Z| %", "ph mrad", "inside", "err/half", "state, findings")
	for _, s := range r.scores {
		var ratios []string
		for _, q := range s.ratios {
			ratios = append(ratios, fmt.Sprintf("%.2f", q))
		}
		fmt.Fprintf(&b, "%-44s %7.2f %7.2f %9.2g %9.2g  %d of %d %-12s %s %s\n", s.name, s.relative, s.phase, s.percent, s.milli,
			s.inside, len(s.ratios), strings.Join(ratios, " "), s.state, strings.Join(s.findings, " "))
	}
	return b.String()
}
