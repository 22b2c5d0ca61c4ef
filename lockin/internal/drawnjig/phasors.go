package drawnjig

import (
	"fmt"
	"math"
	"math/cmplx"
)

// Noise is what a card adds, and how much it plays for how long.
type Noise struct {
	RMS     [2]float64 // per input, re full scale, white over the whole band
	Shared  float64    // rms re the signal in both inputs, as of a source that flickers
	Peak    float64    // of the source, volts (or units)
	Seconds float64    // of steady tone
}

// Load is a resistor of declared value and tolerance (relative half-width).
type Load struct{ Ohm, Tolerance float64 }

// What can be connected.
const (
	RoleOpen  = "open"
	RoleShort = "short"
	RoleLoad  = "load"
	RolePart  = "part"
)

// Recording is what an ideal analysis makes of one recording.
type Recording struct {
	Role    string
	Load    *Load // of a load only
	File    string
	RateHz  float64
	Seconds float64
	RMS     [2]float64 // of the noise
	Peak    [2]float64
	Tones   []Phasors
}

// Phasors are those of one tone: peak re full scale, with the covariance of their noise
// as sixteen bins beside the tone say it.
type Phasors struct {
	NominalHz, FoundHz float64
	V                  [2]complex128
	Cov                [4][4]float64 // ordered Re 1, Im 1, Re 2, Im 2
	Dof                float64
	U                  [2]float64      // standard uncertainty of one axis, per input
	Overtones          [2][]complex128 // from the second on, where source or inputs make any
}

// Standard is what is at the terminals, as a function of the frequency, with a standard
// in place. The load is drawn within its tolerance when it is first asked for.
func (j *Jig) Standard(role string, load Load) func(freqHz float64) complex128 {
	switch role {
	case RoleOpen:
		return func(hz float64) complex128 { return complex(0, 2*math.Pi*hz*j.OpenFarad) }
	case RoleShort:
		return func(hz float64) complex128 {
			if z := complex(j.ShortOhm, 2*math.Pi*hz*j.ShortHenry); z != 0 {
				return 1 / z
			}
			return cmplx.Inf()
		}
	}
	ohm := j.LoadOhm(load)
	return func(hz float64) complex128 {
		w := 2 * math.Pi * hz
		y := complex(1/ohm, w*j.LoadFarad)
		return y / (1 + y*complex(0, w*j.LoadHenry))
	}
}

// LoadOhm is what a load really is.
func (j *Jig) LoadOhm(load Load) float64 {
	if _, drawn := j.loads[load]; !drawn {
		j.SetLoadOhm(load, load.Ohm*(1+Within(j.rng, load.Tolerance)))
	}
	return j.loads[load]
}

// SetLoadOhm makes a load other than it claims to be.
func (j *Jig) SetLoadOhm(load Load, ohm float64) { j.loads[load] = ohm }

// TrueHz is the frequency that is really played where freqHz is asked for.
func (j *Jig) TrueHz(freqHz float64) float64 { return freqHz * (1 + j.PlayClock) }

// RecordedHz is that frequency by the recording clock.
func (j *Jig) RecordedHz(freqHz float64) float64 {
	return freqHz * (1 + j.PlayClock - j.RecordClock)
}

// RecordStandard records a standard at some nominal frequencies.
func (j *Jig) RecordStandard(role string, load Load, freqsHz ...float64) Recording {
	r := j.Record(role, j.Standard(role, load), freqsHz...)
	if role == RoleLoad {
		r.Load = &load
	}
	return r
}

// RecordPart records a part at some nominal frequencies.
func (j *Jig) RecordPart(p Part, freqsHz ...float64) Recording {
	return j.Record(RolePart, p.Siemens, freqsHz...)
}

// Record inserts something with these siemens at the terminals and records it.
func (j *Jig) Record(role string, siemens func(freqHz float64) complex128, freqsHz ...float64) Recording {
	j.sequence++
	in := j.Insert()
	r := Recording{Role: role, File: fmt.Sprintf("%s-%d.wav", role, j.sequence), RateHz: j.RateHz, Seconds: j.Noise.Seconds, RMS: j.Noise.RMS}
	for _, hz := range freqsHz {
		v := j.Transfer(j.TrueHz(hz), siemens(j.TrueHz(hz)), in)
		for i := range v {
			v[i] *= complex(j.Noise.Peak, 0)
		}
		var heard [2][]complex128
		if j.Overtones != nil || j.Curves[0] != nil || j.Curves[1] != nil {
			heard = j.overtones(j.TrueHz(hz), siemens, in)
			v = [2]complex128{heard[0][0], heard[1][0]}
		}
		for i := range v {
			r.Peak[i] += cmplx.Abs(v[i])
		}
		t := j.tone(hz, v)
		for i, h := range heard {
			for k := 1; k < len(h); k++ {
				root := math.Sqrt(2 / (j.Noise.Seconds * j.RateHz))
				t.Overtones[i] = append(t.Overtones[i], h[k]+j.normal2(j.Noise.RMS[i]*root))
			}
		}
		r.Tones = append(r.Tones, t)
	}
	return r
}

// noiseBins are the bins beside a tone that an estimator takes its noise from.
const noiseBins = 16

// tone adds noise, and says of it what sixteen bins of it would.
func (j *Jig) tone(freqHz float64, v [2]complex128) Phasors {
	t := Phasors{NominalHz: freqHz, FoundHz: j.RecordedHz(freqHz), Dof: 2 * noiseBins}
	root := math.Sqrt(2 / (j.Noise.Seconds * j.RateHz)) // of the phasor, per axis and unit of rms
	draw := func() (n [2]complex128) {
		shared := j.normal2(j.Noise.Shared * root)
		for i := range n {
			n[i] = v[i]*shared + j.normal2(j.Noise.RMS[i]*root)
		}
		return n
	}
	for range noiseBins {
		t.claim(draw())
	}
	n := draw()
	for i := range v {
		t.V[i], t.U[i] = v[i]+n[i], math.Sqrt(t.Cov[2*i][2*i])
	}
	return t
}

// claim adds a bin to the covariance of noise that has no preferred phase: Re and Im
// alike, with cross terms between the inputs from n1·n2*.
func (t *Phasors) claim(n [2]complex128) {
	for i := range n {
		for k := range n {
			c := n[i] * cmplx.Conj(n[k]) / (2 * noiseBins)
			t.Cov[2*i][2*k] += real(c)
			t.Cov[2*i+1][2*k+1] += real(c)
			t.Cov[2*i][2*k+1] -= imag(c)
			t.Cov[2*i+1][2*k] += imag(c)
		}
	}
}
