package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/circuit"
)

// recovered are the sweeps of parts of which the elements are known: the circuit as a
// person who knows the part would write it, and which element each unknown is. What two
// tones cannot show (leads, absorption, leakage) is given.
var recovered = []struct {
	scenario, part, circuit string
	elements                map[string]string
}{
	{"p03-electrolytics-two-tones", "c10u", "Rs + L 8n + C // R 3M // (R 40 + C 500n)", map[string]string{"Rs": "esr_ohm", "C": "c_f"}},
	{"p03-electrolytics-two-tones", "c100u", "Rs + L 10n + C // R 400k // (R 8 + C 6u)", map[string]string{"Rs": "esr_ohm", "C": "c_f"}},
	{"p03-electrolytics-two-tones", "c470u", "Rs + L 12n + C // R 100k // (R 2 + C 20u)", map[string]string{"Rs": "esr_ohm", "C": "c_f"}},
	{"p03-electrolytics-two-tones", "c4700u", "Rs + L 16n + C // R 20k // (R 0.3 + C 180u)", map[string]string{"Rs": "esr_ohm", "C": "c_f"}},
	{"p05-loudspeaker-multisine", "woofer", "Re + L1 // R1 + L2 // R2 + L3 // R3 + Res // Les // Ces", map[string]string{"Re": "re_ohm", "Res": "res_ohm", "Les": "les_h", "Ces": "ces_f"}},
	{"p05-loudspeaker-multisine", "tweeter", "Re + L1 // R1 + L2 // R2 + Res // Les // Ces", map[string]string{"Re": "re_ohm", "Res": "res_ohm", "Les": "les_h", "Ces": "ces_f"}},
	{"p06-tank-stepped", "tank", "Rp // C // (Rs + L)", map[string]string{"Rp": "rp_ohm", "C": "c_f", "Rs": "rs_ohm", "L": "l_h"}},
	{"p10-stepped-sweep-16bit", "net", "Cc // (Rs + L) + C // Rp", map[string]string{"Cc": "c_coil_f", "Rs": "rs_ohm", "L": "l_h", "C": "c_f", "Rp": "r_parallel_ohm"}},
}

// fitted is what fit --json tells, as far as it is compared.
type fitted struct {
	Choice   string
	Circuits []struct {
		Agreement string
		Unknowns  []struct {
			Name, State string
			Value       *quantity
			Estimate    *float64
		}
	}
}

// Elements of recorded parts are found again: each within 3.5 standard uncertainties,
// nine of ten within their 95 % interval, and as near as twice what is tolerated of
// the readings. WHEATEAR_RECORDINGS names another folder.
func TestElementsOfRecordings(t *testing.T) {
	dir := os.Getenv("WHEATEAR_RECORDINGS")
	if dir == "" {
		dir = filepath.Join("..", "..", "testdata", "recordings")
	}
	all := scenarios(t, dir)
	total, inside := 0, 0
	for _, c := range recovered {
		i := slices.IndexFunc(all, func(s *scenario) bool { return s.ID == c.scenario })
		if i < 0 {
			continue
		}
		s := all[i]
		files := s.filesOf(c.part)
		if len(files) == 0 {
			continue
		}
		truths := s.elements(t, c.part)
		f := s.fit(t, c.circuit, files)
		if f.Circuits[0].Agreement == string(circuit.Disagrees) {
			t.Errorf("%s: the circuit does not agree", c.part)
		}
		tolerances := s.tolerances(t, c.part, c.circuit, f)
		for k, u := range f.Circuits[0].Unknowns {
			truth, ok := truths[c.elements[u.Name]].(float64)
			if !ok {
				continue
			}
			total++
			if u.Value == nil || u.Value.Value == nil {
				t.Errorf("%s: %s is not determined", c.part, u.Name)
				continue
			}
			q, e := u.Value, *u.Value.Value-truth
			if *q.Low <= truth && truth <= *q.High {
				inside++
			}
			tolerance := tolerances[k]
			t.Logf("%-8s %-3s %10.5g, truth %10.5g: off by %+.3f %% (%.1f u), tolerated %.3f %%", c.part, u.Name, *q.Value, truth, 100*e/truth, e / *q.U, 100*tolerance)
			if math.Abs(e) > 3.5**q.U {
				t.Errorf("%s: %s is %g ± %g (1 u), truth %g", c.part, u.Name, *q.Value, *q.U, truth)
			}
			if math.Abs(e/truth) > tolerance {
				t.Errorf("%s: %s is off by %.3g %%, want %.3g %%", c.part, u.Name, 100*math.Abs(e/truth), 100*tolerance)
			}
		}
	}
	if total == 0 {
		t.Skipf("no sweep of known elements in %s", dir)
	}
	t.Logf("%d of %d elements within their 95 %% interval", inside, total)
	if float64(inside) < 0.9*float64(total) {
		t.Errorf("%d of %d elements within their interval, want nine of ten", inside, total)
	}
}

// filesOf are the sound recordings of a part that are there.
func (s *scenario) filesOf(part string) []string {
	var out []string
	for _, f := range s.Files {
		name := filepath.Join(s.Dir, f.File)
		if _, err := os.Stat(name); err == nil && f.Part == part && f.Role == "part" {
			out = append(out, name)
		}
	}
	return out
}

// elements are the values that a part was made of.
func (s *scenario) elements(t *testing.T, part string) map[string]any {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(s.Dir, "scenario.json"))
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Parts []struct {
			ID       string
			Elements map[string]any
		}
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	for _, p := range doc.Parts {
		if p.ID == part {
			return p.Elements
		}
	}
	t.Fatalf("%s: no part %s", s.ID, part)
	return nil
}

// fit calibrates and fits with the commands.
func (s *scenario) fit(t *testing.T, notation string, files []string) fitted {
	t.Helper()
	dir := t.TempDir()
	jig, cal := filepath.Join(dir, "jig.toml"), filepath.Join(dir, "cal.json")
	if err := os.WriteFile(jig, []byte(s.jig()), 0o666); err != nil {
		t.Fatal(err)
	}
	if status, _, talk := command(append([]string{"calibrate", "--jig", jig, "--at", s.at(), "--out", cal}, s.standards()...)...); status != 0 {
		t.Fatalf("%s: calibrate: status %d: %s", s.ID, status, talk)
	}
	args := []string{"fit", "--jig", jig, "--calibration", cal, "--at", s.at(), "--circuit", notation, "--json"}
	for _, f := range files {
		args = append(args, "--recording", f)
	}
	status, out, talk := command(args...)
	if status != 0 {
		t.Errorf("%s: fit: status %d: %s", s.ID, status, talk)
	}
	var f fitted
	if err := json.Unmarshal(out, &f); err != nil || len(f.Circuits) == 0 {
		t.Fatalf("%s: %v\n%s", s.ID, err, talk)
	}
	return f
}

// tolerances are twice those of the readings, carried to each element: of an error that
// all readings share, which moves elements by as much; and of errors of each, by the
// normal equations of d ln Z / d ln x, weighted by the tolerances.
func (s *scenario) tolerances(t *testing.T, part, notation string, f fitted) []float64 {
	t.Helper()
	c, err := circuit.Parse(notation)
	if err != nil {
		t.Fatal(err)
	}
	var x []float64
	for _, u := range f.Circuits[0].Unknowns {
		x = append(x, *u.Estimate)
	}
	truths := s.truths(part)
	j := mat.NewDense(2*len(truths), len(x), nil)
	shared := math.Inf(1)
	for i, r := range truths {
		shared = math.Min(shared, *r.TolRel)
		for k := range x {
			more := slices.Clone(x)
			more[k] *= 1 + 1e-6
			d := (c.Impedance(r.Hz, more...)/c.Impedance(r.Hz, x...) - 1) / 1e-6
			j.Set(2*i, k, real(d) / *r.TolRel)
			j.Set(2*i+1, k, imag(d)/(*r.TolMilli/1000))
		}
	}
	var normal, inverse mat.Dense
	normal.Mul(j.T(), j)
	if err := inverse.Inverse(&normal); err != nil {
		t.Fatalf("%s: %v", part, err)
	}
	out := make([]float64, len(x))
	for k := range out {
		out[k] = 2 * math.Max(shared, math.Sqrt(inverse.At(k, k)))
	}
	return out
}
