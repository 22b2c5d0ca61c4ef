package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/lockin/jigcheck"
)

var soak = flag.Bool("soak", false, "run the long statistical tests")

// wirings are those of all kinds of pairs, some inverted or in the other order.
var wirings = [][2]string{{"total", "part"}, {"total", "reference"}, {"part", "reference"}, {"part", "-reference"},
	{"part", "total"}, {"-total", "-reference"}, {"reference", "part"}, {"-reference", "part"}}

// rig is a simulated jig that verify looks at.
type rig struct {
	name      string
	rateHz    float64
	reference float64 // of the jig file; the jig itself may have another
	cfg       virtual.Config
}

// ordinaryRig draws a jig without a fault.
func ordinaryRig(seed uint64, rates []float64) rig {
	r := rand.New(rand.NewPCG(seed, 77))
	within := func(limit float64) float64 { return limit * (2*r.Float64() - 1) }
	between := func(low, high float64) float64 { return low * math.Pow(high/low, r.Float64()) }
	ohm := []float64{220, 470, 1000, 2200, 4700, 10000}[r.IntN(6)]
	noise := between(1e-6, 2e-5)
	f := virtual.TypicalFaults(seed)
	f.Noise = [2]float64{noise, noise * between(0.7, 1.4)}
	f.Hum = virtual.Hum{Hz: 50 + within(0.05), Levels: []float64{between(1e-5, 1e-3), 3e-5, 1e-4}}
	f.ClockPPM = within(10)
	j := virtual.TypicalJig()
	j.Channels = wirings[r.IntN(len(wirings))]
	j.ReferenceOhm = ohm * (1 + within(0.0005))
	j.SourceOhm, j.LeadOhm, j.LeadHenry = between(5, 300), between(0.01, 0.2), between(0.1e-6, 1e-6)
	j.FixtureFarad, j.ContactSpreadOhm = between(2e-12, 20e-12), between(0.1e-3, 0.8e-3)
	for i := range j.Inputs {
		j.Inputs[i].Ohm, j.Inputs[i].Farad = between(200e3, 2e6), between(50e-12, 200e-12)
	}
	return rig{name: fmt.Sprintf("%d %v %g ohm", seed, j.Channels, ohm), rateHz: rates[r.IntN(len(rates))], reference: ohm,
		cfg: virtual.Config{Jig: j, Faults: f, Seed: seed}}
}

// faultDoc is what a test needs of a fault.
type verifiedFault struct {
	Code    string
	Channel *int
	Value   *float64
	Low     *float64
	High    *float64
	Unit    string
	Detail  string
}

type verifiedDoc struct {
	Verdict string
	Faults  []verifiedFault
	Figures []struct {
		Topic, Name string
		Value       *float64
		Unit        string
	}
	Notes []string
}

// verify runs the command on a rig, in a folder that keeps its verifications.
func (g rig) verify(t *testing.T, dir string, more ...string) verifiedDoc {
	t.Helper()
	card, err := virtual.New(g.cfg)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "jig.toml")
	text := fmt.Sprintf("name = %q\nchannels = [%q, %q]\nreference = \"%g\"\nreference_tolerance = \"0.1%%\"\nmains = 50\n[card]\nbackend = \"virtual\"\nrate = %g\nlevel = \"-6dBFS\"\nseconds = 0.4\n",
		g.name, g.cfg.Jig.Channels[0], g.cfg.Jig.Channels[1], g.reference, g.rateHz)
	if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	var out, talk bytes.Buffer
	a := newApp(context.Background(), strings.NewReader(""), &out, &talk)
	a.openCard = func(_ context.Context, o live.Options) (*live.Session, error) { return live.New(card, o), nil }
	a.listCards = func(context.Context, portaudio.Options) ([]portaudio.Device, error) { return nil, nil }
	status := a.run(append([]string{"verify", "--jig", file, "--json", "--seconds", "3"}, more...))
	var doc verifiedDoc
	if err := json.Unmarshal(out.Bytes(), &doc); err != nil {
		t.Fatalf("%s: status %d, %v: %s", g.name, status, err, talk.String())
	}
	if err := clitest.ConformsText(out.Bytes()); err != nil {
		t.Errorf("%s: %v", g.name, err)
	}
	if (status == 0) != (doc.Verdict == "pass") {
		t.Errorf("%s: status %d with verdict %s", g.name, status, doc.Verdict)
	}
	return doc
}

func (d verifiedDoc) String() string {
	var list []string
	for _, f := range d.Faults {
		value := math.NaN()
		if f.Value != nil {
			value = *f.Value
		}
		list = append(list, fmt.Sprintf("%s %.4g %s (%s)", f.Code, value, f.Unit, f.Detail))
	}
	return strings.Join(list, "\n    ")
}

// injured is one fault put into an ordinary jig, and what must be said of it.
type injured struct {
	name  string
	steps string   // that are enough to tell
	codes []string // any of these
	// hurt does it and returns the size that the fault has.
	hurt func(r *rand.Rand, g *rig) float64
	// size takes what was said to the size; nil for the value itself.
	size    func(f verifiedFault) float64
	earlier bool // an earlier verification is needed, without the fault
	alone   bool // nothing that follows from it may be named beside it
}

// near draws a value within a factor of about a half around another.
func near(r *rand.Rand, v float64) float64 { return v * math.Pow(1.5, 2*r.Float64()-1) }

func injuries() []injured {
	return []injured{
		{name: "hum", steps: "idle", codes: []string{"hum"}, earlier: true, hurt: func(r *rand.Rand, g *rig) float64 {
			db := 2.5 + r.Float64()
			for i := range g.cfg.Faults.Hum.Levels {
				g.cfg.Faults.Hum.Levels[i] *= math.Pow(10, db/20)
			}
			return db
		}},
		{name: "skew", steps: "joined,load", codes: []string{"skew"}, hurt: func(r *rand.Rand, g *rig) float64 {
			d := 0.5 + 0.3*r.Float64()
			g.cfg.Faults.Delay = [2]float64{0, d}
			if r.IntN(2) == 0 {
				g.cfg.Faults.Delay = [2]float64{d, 0}
				return -d
			}
			return d
		}},
		{name: "crosstalk", steps: "terminated-1,terminated-2,joined", codes: []string{"crosstalk"}, hurt: func(r *rand.Rand, g *rig) float64 {
			c := near(r, 1e-3)
			ch := r.IntN(2)
			g.cfg.Faults.Crosstalk[ch] = c
			return 20 * math.Log10(c)
		}},
		{name: "automatic gain", steps: "levels,idle", codes: []string{"auto-gain"}, hurt: func(r *rand.Rand, g *rig) float64 {
			g.cfg.Faults.AutoGain = near(r, 0.25)
			return g.cfg.Faults.AutoGain
		}, size: func(f verifiedFault) float64 {
			var v float64
			_, rest, _ := strings.Cut(f.Detail, "peaks are brought to ")
			fmt.Sscanf(rest, "%g", &v)
			return v
		}},
		{name: "resampler", steps: "long", codes: []string{"resampled"}, hurt: func(r *rand.Rand, g *rig) float64 {
			g.cfg.Faults.ResampleHz = 44100
			switch g.rateHz {
			case 44100:
				g.cfg.Faults.ResampleHz = 48000
			case 8000:
				g.cfg.Faults.ResampleHz = 11025
			case 11025:
				g.cfg.Faults.ResampleHz = 16000
			}
			return g.cfg.Faults.ResampleHz
		}},
		{name: "contact", steps: "short,joined,load", codes: []string{"contact"}, hurt: func(r *rand.Rand, g *rig) float64 {
			// Inputs across the part itself do not see its contacts, and beside 10 kΩ drift
			// of the inputs hides them.
			g.reference *= 470 / g.cfg.Jig.ReferenceOhm
			g.cfg.Jig.ReferenceOhm = 470
			g.cfg.Jig.Channels = wirings[[]int{0, 1, 3, 4, 5, 7}[r.IntN(6)]]
			g.cfg.Jig.ContactSpreadOhm = near(r, 20e-3)
			g.cfg.Jig.ContactOhm = 5 * g.cfg.Jig.ContactSpreadOhm
			return g.cfg.Jig.ContactSpreadOhm
		}},
		{name: "input", steps: "open,load,joined,reference", codes: []string{"loading"}, hurt: func(r *rand.Rand, g *rig) float64 {
			ohm := near(r, 80e3)
			g.cfg.Jig.Channels = wirings[[]int{0, 1, 2, 4, 6}[r.IntN(5)]] // a virtual ground feels none
			g.cfg.Jig.Inputs[0].Ohm, g.cfg.Jig.Inputs[1].Ohm = ohm, ohm
			return ohm
		}},
		{name: "reference", steps: "open,short,load,joined,reference", codes: []string{"reference"}, hurt: func(r *rand.Rand, g *rig) float64 {
			p := near(r, 5)
			if r.IntN(2) == 0 {
				p = -p
			}
			g.cfg.Jig.ReferenceOhm = g.reference * (1 + p/100)
			return p
		}},
		{name: "third harmonic", steps: "levels", codes: []string{"distortion"}, hurt: func(r *rand.Rand, g *rig) float64 {
			t := near(r, 1e-3)
			g.cfg.Faults.Third = [2]float64{t, t}
			return 20 * math.Log10(t)
		}},
		{name: "clock", steps: "long", codes: []string{"clock"}, hurt: func(r *rand.Rand, g *rig) float64 {
			g.cfg.Faults.ClockPPM = near(r, 80)
			if r.IntN(2) == 0 {
				g.cfg.Faults.ClockPPM *= -1
			}
			return g.cfg.Faults.ClockPPM
		}},
		{name: "noise", steps: "idle", codes: []string{"noise"}, hurt: func(r *rand.Rand, g *rig) float64 {
			ch := r.IntN(2)
			n := near(r, 6) * g.cfg.Faults.Noise[1-ch]
			g.cfg.Faults.Noise[ch] = n
			return 20 * math.Log10(math.Hypot(n, g.cfg.Faults.PinkNoise[ch]))
		}},
		{name: "dropouts", steps: "long,idle", codes: []string{"dropout"}, hurt: func(r *rand.Rand, g *rig) float64 {
			n := 1 + r.IntN(3)
			for i := range n {
				g.cfg.Faults.Drops = append(g.cfg.Faults.Drops, virtual.Drop{
					Frame: int64(g.rateHz * (0.9 + 0.7*float64(i) + 0.3*r.Float64())), Frames: 20 + r.IntN(300), Fill: virtual.Fill(r.IntN(3))})
			}
			return float64(n)
		}},
		{name: "inputs exchanged", steps: "short,open,load,terminated-1,terminated-2,joined", codes: []string{"swapped"}, alone: true, hurt: func(r *rand.Rand, g *rig) float64 {
			g.cfg.Faults.Swapped = true
			return 1
		}, size: named},
		{name: "one signal", steps: "load,open,short,terminated-1,terminated-2,joined", codes: []string{"mono"}, alone: true, hurt: func(r *rand.Rand, g *rig) float64 {
			g.cfg.Faults.Mono = true
			return 1
		}, size: named},
		{name: "overdriven", steps: "levels,load", codes: []string{"clipped"}, hurt: func(r *rand.Rand, g *rig) float64 {
			g.cfg.Faults.Clip, g.cfg.Faults.Gain = true, [2]float64{4, 4}
			return 1
		}, size: named},
		{name: "strong hum", steps: "idle", codes: []string{"hum"}, hurt: func(r *rand.Rand, g *rig) float64 {
			peak := near(r, 0.03)
			g.cfg.Faults.Hum.Levels = []float64{peak}
			return 20 * math.Log10(peak/math.Sqrt2)
		}},
	}
}

// named is the size of what has none.
func named(verifiedFault) float64 { return 1 }

// holds reports whether what was said of a fault is within 20 % of its size, or has it
// within its interval.
func (f verifiedFault) holds(size float64, take func(verifiedFault) float64) bool {
	if take != nil {
		return math.Abs(take(f)/size-1) < 0.2
	}
	if f.Value == nil || f.Low == nil || f.High == nil {
		return false
	}
	return math.Abs(*f.Value/size-1) < 0.2 || *f.Low <= size && size <= *f.High
}

// tryMatrix puts each fault into as many drawn jigs.
func tryMatrix(t *testing.T, each int, rates []float64, seed uint64, few bool) {
	for k, in := range injuries() {
		for n := range each {
			seed := seed + uint64(100*k+n)
			r := rand.New(rand.NewPCG(seed, 5))
			g := ordinaryRig(seed, rates)
			dir := t.TempDir()
			if in.earlier {
				g.verify(t, dir, "--skip", allBut("idle"))
			}
			var more []string
			if few {
				more = []string{"--skip", allBut(in.steps)}
			}
			size := in.hurt(r, &g)
			doc := g.verify(t, dir, more...)
			said := ""
			for _, f := range doc.Faults {
				for _, code := range in.codes {
					if f.Code == code && f.holds(size, in.size) {
						said = f.Detail
					}
				}
			}
			if said == "" {
				t.Errorf("%s of %.4g in %s at %g Hz: named are\n    %s\n    notes %v", in.name, size, g.name, g.rateHz, doc, doc.Notes)
			} else if len(doc.Faults) > 1 && in.alone {
				t.Errorf("%s in %s at %g Hz: besides, what follows from it is named\n    %s", in.name, g.name, g.rateHz, doc)
			} else if len(doc.Faults) > 1 {
				t.Logf("%s of %.4g in %s at %g Hz: besides\n    %s", in.name, size, g.name, g.rateHz, doc)
			} else {
				t.Logf("%s of %.4g: %s", in.name, size, said)
			}
		}
	}
}

// allBut lists the other steps for --skip.
func allBut(steps string) string {
	var out []string
	for _, about := range jigcheck.Steps() {
		if !slices.Contains(strings.Split(steps, ","), string(about.Step)) {
			out = append(out, string(about.Step))
		}
	}
	return strings.Join(out, ",")
}

// Each of twelve faults, in a jig drawn anew, is named with its size by the steps that it
// takes.
func TestVerifyNamesTheFault(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	tryMatrix(t, 1, []float64{8000}, 1000, true)
}

func TestVerifyNamesNone(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	tryOrdinary(t, 2, 0, []float64{8000})
}

func TestSoakVerify(t *testing.T) {
	if !*soak {
		t.Skip("run with -soak")
	}
	tryMatrix(t, 4, []float64{16000, 44100, 48000}, 9000, false)
	tryOrdinary(t, 60, 500, []float64{8000, 16000, 32000, 44100, 48000})
}

// tryOrdinary looks at jigs without a fault.
func tryOrdinary(t *testing.T, n, seed uint64, rates []float64) {
	for k := range n {
		g := ordinaryRig(seed+k, rates)
		if doc := g.verify(t, t.TempDir()); len(doc.Faults) > 0 {
			t.Errorf("%s at %g Hz has no fault; named are\n    %s", g.name, g.rateHz, doc)
		}
	}
}
