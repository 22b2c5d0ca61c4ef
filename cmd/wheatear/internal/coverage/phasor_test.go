package coverage

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

// phasorBench is a bench at one frequency without its time: what is declared is drawn,
// the circuit is solved node by node, and the phasors get the noise that an efficient
// estimator leaves. It is some hundred times as fast as the simulated card, and shares
// nothing with the error model.
type phasorBench struct {
	rng     *rand.Rand
	file    *fixture.Jig
	load    fixture.Load
	freqHz  float64 // as asked for
	rateHz  float64
	seconds float64
	peak    float64
	noise   float64 // rms re full scale
	hum     float64
	source  float64

	trueHz, foundHz      float64
	reference            complex128
	input                [2]complex128 // siemens
	perGain              complex128    // 1/A of the amplifier of a virtual ground
	gain, cross1, cross2 complex128
	leadOhm, leadHenry   float64
	fixtureFarad         float64
	loadOhm              float64
	left                 fixture.Standards // Value is what was drawn
}

// draw draws everything anew.
func (b *phasorBench) draw() {
	r, f := b.rng, b.file
	play, record := within(r, f.ClockTolerance), within(r, f.ClockTolerance)
	if r.IntN(2) == 0 {
		record = play
	}
	b.trueHz, b.foundHz = b.freqHz*(1+play), b.freqHz*(1+play-record)
	w := 2 * math.Pi * b.trueHz
	ohm, farad := f.ReferenceOhm*(1+within(r, f.ReferenceTolerance)), f.ReferenceFarad[0]*(1+0.5*r.NormFloat64())
	b.reference = 1 / complex(1/ohm, w*farad)
	for i := range b.input {
		b.input[i] = complex((1+0.05*r.NormFloat64())/f.InputOhm[i], w*f.InputFarad[i]*(1+0.1*r.NormFloat64()))
	}
	b.perGain = complex(0, b.trueHz*0.5e-6*math.Abs(r.NormFloat64()))
	b.gain = (1 + b.both(f.ChannelMatch)) * cmplx.Exp(complex(0, -w*f.DelaySamples*r.NormFloat64()/b.rateHz))
	b.cross1, b.cross2 = b.both(1e-4), b.both(1e-4)
	b.leadOhm, b.leadHenry = 0.2*math.Abs(r.NormFloat64()), 1e-6*math.Abs(r.NormFloat64())
	b.fixtureFarad = 20e-12 * math.Abs(r.NormFloat64())
	b.loadOhm = b.load.Ohm * (1 + within(r, b.load.Tolerance))
	for _, d := range []struct{ to, from *fixture.Residual }{
		{&b.left.OpenFarad, &f.Standards.OpenFarad}, {&b.left.ShortOhm, &f.Standards.ShortOhm}, {&b.left.ShortHenry, &f.Standards.ShortHenry},
		{&b.left.LoadFarad, &f.Standards.LoadFarad}, {&b.left.LoadHenry, &f.Standards.LoadHenry},
	} {
		d.to.Value = d.from.Value + d.from.U*r.NormFloat64()
	}
}

func (b *phasorBench) both(u float64) complex128 {
	return complex(u*b.rng.NormFloat64(), u*b.rng.NormFloat64())
}

// volts are those of the two inputs with y siemens at the terminals, the source being
// one volt. Node by node: the source's resistance to node a; between a and ground, by
// wiring, reference and part with node b in the middle.
func (b *phasorBench) volts(y complex128) [2]complex128 {
	contact, stray := b.file.ContactOhm*b.rng.NormFloat64(), b.file.StrayFarad*b.rng.NormFloat64()
	w := 2 * math.Pi * b.trueHz
	y += complex(0, w*(b.fixtureFarad+stray))
	part := y / (1 + y*complex(b.leadOhm+contact, w*b.leadHenry)) // siemens
	upper, lower := 1/b.reference, part
	switch b.file.Channels[1].String() {
	case "reference":
		upper, lower = part, 1/b.reference
	case "-reference":
		// The amplifier's input stands at vn = I·Zr/(1+A), its output at -A·vn.
		virtual := b.reference * b.perGain / (1 + b.perGain)
		loop := part / (1 + part*virtual) // siemens from node a to ground
		a := 1 / (1 + loop*complex(b.source, 0))
		return [2]complex128{a, -a * loop * b.reference / (1 + b.perGain)}
	}
	lower += b.input[1]
	through := upper * lower / (upper + lower) // siemens from node a to ground
	a := 1 / (1 + (through+b.input[0])*complex(b.source, 0))
	return [2]complex128{a, a * upper / (upper + lower)}
}

// record is the analysis of a record with y siemens at the terminals.
func (b *phasorBench) record(role fixture.Role, y complex128) fixture.Observation {
	v, n := b.volts(y), b.seconds*b.rateHz
	v[0], v[1] = v[0]+b.cross1*v[1], b.gain*(1+b.both(b.file.Drift))*(v[1]+b.cross2*v[0])
	const bins = 16 // that the estimator takes the noise from
	claimed := 0.0
	for range 2 * bins {
		claimed += math.Pow(b.rng.NormFloat64(), 2) / (2 * bins)
	}
	u := b.noise * math.Sqrt(2/n)
	t := record.ToneFit{NominalHz: b.freqHz, FreqHz: b.foundHz, Cov: mat.NewSymDense(4, nil), Dof: 2 * bins, LineU: []float64{0, 0},
		Harmonics: [][]complex128{{0, 0, 0, 0}, {0, 0, 0, 0}}, HarmonicU: []float64{u, u}}
	_, order := stimulus.MainsOrder(b.freqHz, b.file.MainsHz, b.seconds)
	for i := range v {
		v[i] = v[i]*complex(b.peak, 0) + b.both(u)
		if order > 0 {
			line := math.Sqrt2 * b.hum / float64(order)
			v[i] += cmplx.Rect(line, 2*math.Pi*b.rng.Float64())
			t.LineU[i] = line / math.Sqrt2
		}
		t.Phasors = append(t.Phasors, v[i])
		t.Cov.SetSym(2*i, 2*i, u*u*claimed)
		t.Cov.SetSym(2*i+1, 2*i+1, u*u*claimed)
		t.Detected = append(t.Detected, cmplx.Abs(v[i]) > 5*u)
	}
	return fixture.Observation{Role: role, File: string(role), Analysis: &record.Analysis{RateHz: b.rateHz, Bits: 24, Frames: int(n), End: int(n),
		Tones: []record.ToneFit{t}, NoiseRMS: []float64{b.noise, b.noise}, Peak: []float64{b.peak, b.peak}, Offset: []float64{0, 0}}}
}

// measure calibrates the bench and reads a part, of which siemens is the admittance
// at the frequency that is really played.
func (b *phasorBench) measure(siemens func(w float64) complex128) (*fixture.Corrected, error) {
	w := 2 * math.Pi * b.trueHz
	load := 1 / (1/complex(1/b.loadOhm, w*b.left.LoadFarad.Value) + complex(0, w*b.left.LoadHenry.Value))
	standards := []fixture.Observation{
		b.record(fixture.Open, complex(0, w*b.left.OpenFarad.Value)),
		b.record(fixture.Short, 1/complex(b.left.ShortOhm.Value, w*b.left.ShortHenry.Value)),
		b.record(fixture.LoadRole, load),
	}
	standards[2].Load = &b.load
	cal, err := fixture.Calibrate(b.file, standards, []float64{b.freqHz}, fixture.About{})
	if err != nil {
		return nil, err
	}
	return fixture.Measure(b.file, cal, []fixture.Observation{b.record(fixture.PartRole, siemens(w))}, b.freqHz,
		fixture.Options{Reading: impedance.Config{Trials: 1000}})
}
