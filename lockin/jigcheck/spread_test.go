package jigcheck

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// The interval of a spread has the truth in 95 % of 2000 draws, and no more than stated
// are called larger than they are.
func TestSpreadInterval(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, n := range []int{3, 5, 10} {
		covered, beyond := 0, 0
		const trials, noise = 2000, 0.5
		for range trials {
			x := make([]float64, n)
			for i := range x {
				x[i] = r.NormFloat64() + noise*r.NormFloat64()
			}
			_, sd := spread(x)
			q := beyondNoise(sd, noise, float64(n-1))
			if q.Low <= 1 && 1 <= q.High {
				covered++
			}
			if least(sd, noise, float64(n-1)) > 1 {
				beyond++
			}
		}
		// 3.5 standard deviations of 2000 trials at 95 % are 1.7 %.
		if share := float64(covered) / trials; share < 0.933 || share > 0.975 {
			t.Errorf("%d values: the truth is within in %.1f %%", n, 100*share)
		}
		if beyond > 1 { // 3e-5 each
			t.Errorf("%d values: %d of %d are called larger than they are", n, beyond, trials)
		}
	}
}

func TestContact(t *testing.T) {
	d := newDesk()
	d.contact = 20e-3
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: d.all()})
	only(t, r, Contact)
	f := fault(r, Contact)
	if f.Unit != "Ω" || !(f.Value.Low < 20e-3 && 20e-3 < f.Value.High) || !strings.Contains(f.Detail, "over 5 insertions") {
		t.Errorf("%+v", f)
	}
	if r.Model.ContactOhm != f.Value.Value {
		t.Errorf("the model has %g", r.Model.ContactOhm)
	}
	// What the jig file states is no fault.
	only(t, examine(t, Evidence{Jig: d.jig(t, "contact_repeatability = \"50m\"\n"), Stated: map[string]bool{"contact_repeatability": true}, Recordings: d.all()}))
}

// Noise that is known no better than a record tells it, and crosstalk that differs from
// tone to tone, are no spread: 300 sets of insertions with a chance of 3e-5 each.
func TestNoSpreadInNoise(t *testing.T) {
	d := newDesk("total", "reference")
	d.contact, d.noise, d.cross = 0, 1e-6, [2]complex128{0, 1e-4i}
	for range 300 {
		list := d.all()
		for _, rec := range list {
			for _, tone := range rec.Analysis.Tones {
				tone.Cov.ScaleSym(0.5+d.r.Float64(), tone.Cov)
			}
		}
		var some []Recording
		for _, rec := range list {
			if rec.Step != Terminated1 && rec.Step != Terminated2 {
				some = append(some, rec)
			}
		}
		r := examine(t, Evidence{Jig: d.jig(t, "contact_repeatability = \"1u\"\nstray_repeatability = \"0.00001p\"\n"), Recordings: some,
			Stated: map[string]bool{"contact_repeatability": true, "stray_repeatability": true}})
		if r.Has(Contact, Stray) {
			t.Fatalf("%+v", r.Faults)
		}
	}
}

// Drift is found beside the noise, and the Allan deviation of white drift falls.
func TestDrift(t *testing.T) {
	for size, named := range map[float64]bool{5e-6: false, 2e-4: true} {
		d := newDesk()
		var list []Recording
		for k := range 40 {
			d.gain = complex(1+size*d.r.NormFloat64(), 0)
			rec := d.record(Drift, 1000)
			rec.AtS = float64(k)
			list = append(list, rec)
		}
		r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
		if r.Has(Drifting) != named {
			t.Errorf("drift of %g: %+v", size, r.Faults)
		}
		// 40 values tell their spread within 11 %; four of these.
		if m := r.Model.Drift; math.Abs(m/size-1) > 0.45 {
			t.Errorf("drift of %g is read as %g", size, m)
		}
		if len(r.Allan) < 4 || !(r.Allan[3].Deviation < r.Allan[0].Deviation) || r.Allan[0].TauS != 1 {
			t.Errorf("%+v", r.Allan)
		}
	}
}

// A ramp makes long averages worse, and it is said from when on.
func TestLongestUsefulAverage(t *testing.T) {
	d := newDesk()
	var list []Recording
	for k := range 64 {
		d.gain = complex(1+1e-5*d.r.NormFloat64()+2e-6*float64(k), 0)
		rec := d.record(Drift, 1000)
		rec.AtS = 2 * float64(k)
		list = append(list, rec)
	}
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
	if !(r.Model.UsefulS >= 2 && r.Model.UsefulS <= 32) || r.Figure("drift", "longest useful average", 0) == nil {
		t.Errorf("useful up to %g s", r.Model.UsefulS)
	}
}

func TestStepsAreKnown(t *testing.T) {
	for _, a := range Steps() {
		if s, ok := ParseStep(string(a.Step)); !ok || s != a.Step || a.Do == "" || a.For == "" {
			t.Errorf("%+v", a)
		}
	}
	if _, ok := ParseStep("nonsense"); ok {
		t.Error("nonsense is a step")
	}
	if len(Ordinary()) < 10 {
		t.Error("limits are not documented")
	}
}
