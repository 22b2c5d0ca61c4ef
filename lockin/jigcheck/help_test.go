package jigcheck

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
)

const testRate = 48000.0

var testTones = []float64{100, 330, 1000, 3300, 12000}

// desk is a jig made for tests in phasors: a voltage divider and two inputs, written
// down here once more, so that a sign that is wrong in the package cannot hide.
type desk struct {
	channels     [2]string
	refOhm       float64 // as it is
	sourceOhm    float64
	leadOhm      float64
	fixtureFarad float64
	inputOhm     [2]float64 // 0 for none
	gain         complex128 // of input 2
	delay        float64    // of input 2, samples
	cross        [2]complex128
	noise        float64 // each axis
	contact      float64 // standard deviation
	r            *rand.Rand
}

func newDesk(channels ...string) *desk {
	d := &desk{channels: [2]string{"total", "part"}, refOhm: 1000, sourceOhm: 33, leadOhm: 0.05, fixtureFarad: 5e-12, gain: 1, noise: 1e-8,
		contact: 1e-4, r: rand.New(rand.NewPCG(1, 2))}
	if len(channels) == 2 {
		d.channels = [2]string{channels[0], channels[1]}
	}
	return d
}

func (d *desk) jig(t testing.TB, more string) *fixture.Jig {
	t.Helper()
	j, err := fixture.ParseJig("jig.toml", []byte(fmt.Sprintf("channels = [%q, %q]\nreference = \"1k\"\nreference_tolerance = \"0.1%%\"\n%s", d.channels[0], d.channels[1], more)))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// admittance of an input.
func (d *desk) load(i int) complex128 {
	if d.inputOhm[i] == 0 {
		return 0
	}
	return complex(1/d.inputOhm[i], 0)
}

// volts are the voltages on total, part and reference with z between the terminals; the
// input off, counted from 1, is unplugged.
func (d *desk) volts(f float64, z complex128, contact float64, off int) map[string]complex128 {
	y := complex(0, 2*math.Pi*f*d.fixtureFarad)
	if !cmplx.IsInf(z) {
		y += 1 / z
	}
	zp := 1/y + complex(d.leadOhm+contact, 0)
	if y == 0 {
		zp = 1e15
	}
	both := map[string]complex128{}
	for i, name := range d.channels {
		if off != i+1 {
			both[name] = d.load(i)
		}
	}
	differential := d.channels == [2]string{"part", "reference"} || d.channels == [2]string{"reference", "part"}
	ys, yp, yr := 1/complex(d.sourceOhm, 0), 1/zp, 1/complex(d.refOhm, 0)
	// Two nodes: s where the source drives, b between part and reference.
	ss, sb, bb := ys+yp+both["total"], -yp, yp+yr
	switch {
	case differential:
		ss, bb = ss+both["part"], bb+both["part"]+both["reference"]
	case d.channels[0] == "reference" || d.channels[1] == "reference":
		bb += both["reference"]
	default: // the reference comes first, the part lies on ground
		bb += both["part"]
		ss, sb, bb = ys+yr+both["total"], -yr, yp+yr+both["part"]
	}
	det := ss*bb - sb*sb
	s, m := 0.5*ys*bb/det, -0.5*ys*sb/det
	if !differential && d.channels[0] != "reference" && d.channels[1] != "reference" {
		return map[string]complex128{"total": s, "part": m, "reference": s - m}
	}
	return map[string]complex128{"total": s, "part": s - m, "reference": m}
}

// hear turns voltages on the inputs into the analysis of a record.
func (d *desk) hear(f float64, v1, v2 complex128) record.ToneFit {
	h := [2]complex128{v1 + d.cross[0]*v2, v2 + d.cross[1]*v1}
	h[1] *= d.gain * cmplx.Exp(complex(0, -2*math.Pi*f*d.delay/testRate))
	cov := mat.NewSymDense(4, nil)
	for i := range 4 {
		cov.SetSym(i, i, d.noise*d.noise)
	}
	for i := range h {
		h[i] += complex(d.noise*d.r.NormFloat64(), d.noise*d.r.NormFloat64())
	}
	return record.ToneFit{NominalHz: f, FreqHz: f, Phasors: h[:], Cov: cov, Dof: 1000, Detected: []bool{true, true}, LineU: []float64{0, 0}}
}

// record makes the recording of a step at all tones.
func (d *desk) record(step Step, z complex128) Recording {
	a := &record.Analysis{RateHz: testRate, Frames: 48000, End: 48000}
	contact := d.contact * d.r.NormFloat64()
	var played []fixture.Played
	for _, f := range testTones {
		v := d.volts(f, z, contact, map[Step]int{Terminated1: 1, Terminated2: 2}[step])
		v1, v2 := v[d.channels[0]], v[d.channels[1]]
		switch step {
		case Joined:
			v1, v2 = 0.4, 0.4
		case Terminated1:
			v1 = 0
		case Terminated2:
			v2 = 0
		}
		a.Tones = append(a.Tones, d.hear(f, v1, v2))
		played = append(played, fixture.Played{FreqHz: f, Amplitude: 0.5})
	}
	return Recording{Step: step, File: string(step), Analysis: a, Played: played}
}

// all are the recordings of the steps with several tones.
func (d *desk) all() []Recording {
	load := func(step Step, ohm float64) Recording {
		r := d.record(step, complex(ohm, 0))
		r.Load = &fixture.Load{Ohm: ohm, Tolerance: 0.0005}
		return r
	}
	out := []Recording{load(Load, 1000), load(Load, 100), load(Joined, 1000), load(Terminated1, 1000), load(Terminated2, 1000)}
	for range 5 {
		out = append(out, d.record(Short, 1e-9), d.record(Open, cmplx.Inf()))
	}
	return out
}

// other is the step reference.
func (d *desk) other(ohm float64) Recording {
	was := d.refOhm
	d.refOhm = ohm
	defer func() { d.refOhm = was }()
	r := d.record(Reference, 1000)
	r.Load = &fixture.Load{Ohm: 1000, Tolerance: 0.0005}
	r.Other = &fixture.Load{Ohm: ohm, Tolerance: 0.0005}
	return r
}

func examine(t testing.TB, e Evidence) *Report {
	t.Helper()
	r, err := Examine(e)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// only checks that exactly these faults are named.
func only(t *testing.T, r *Report, codes ...finding.Code) {
	t.Helper()
	for _, f := range r.Faults {
		found := false
		for _, c := range codes {
			found = found || c == f.Code
		}
		if !found {
			t.Errorf("%s is named: %s", f.Code, f.Detail)
		}
	}
	for _, c := range codes {
		if !r.Has(c) {
			t.Errorf("%s is not named", c)
		}
	}
}

func fault(r *Report, code finding.Code) Fault {
	for _, f := range r.Faults {
		if f.Code == code {
			return f
		}
	}
	return Fault{}
}
