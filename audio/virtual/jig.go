package virtual

import (
	"fmt"
	"math"
)

// Jig says how the simulated jig is wired and what is stray in it. Ohms, farads,
// henries; 0 means that there is none of it, unless the comment says otherwise.
//
//	channels            the part's place                 the reference's place
//	total, part         from the reference to ground     from the source to the part
//	total, reference    from the source to the reference from the part to ground
//	part, reference     likewise; both inputs differential, sensed at the part
//	part, -reference    from the source to the input of an inverting amplifier, the
//	                    reference from there to the amplifier's output
//
// Any order, and a minus before both or one of the first two kinds of pair, only
// changes what goes to which input with which sign.
type Jig struct {
	Channels [2]string // what inputs 1 and 2 carry; empty means "total", "part"

	ReferenceOhm   float64 // 0 means 1000
	ReferenceFarad float64 // across the reference
	ReferenceHenry float64 // in series with it

	SourceOhm   float64 // output resistance of the source
	SourceFarad float64 // its coupling capacitor

	LeadOhm, LeadHenry float64 // in series with the part
	FixtureFarad       float64 // across the part's terminals
	GroundFarad        float64 // from the part's upper terminal to ground

	ContactOhm         float64 // in series with the part, drawn at each insertion:
	ContactSpreadOhm   float64 // standard deviation about ContactOhm
	FixtureSpreadFarad float64 // likewise of what is across the part

	Inputs    [2]Input
	Amplifier Amplifier // of the wiring with an inverting amplifier

	DriveVolts     float64    // peak, source open, that full scale gives; 0 means 1
	FullScaleVolts [2]float64 // peak at an input that gives full scale; 0 means 1
}

// Input is an input of the card as its source sees it.
type Input struct {
	Ohm, Farad float64 // to ground, on each side of a differential input; 0 ohm means none
	CornerHz   float64 // of the high-pass behind it; 0 means coupled for direct current
	CommonMode float64 // part of the mean of both sides that a differential input adds
}

// Amplifier is an operational amplifier. Without a product of gain and bandwidth
// it is ideal: it holds its input at 0 V.
type Amplifier struct {
	GainBandwidthHz float64
	OpenLoopGain    float64 // at direct current; 0 means 200 000
	OutputOhm       float64
	InputFarad      float64
}

// TypicalJig returns a jig with a 1 kΩ reference and strays as a jig on a kitchen
// table has them (common practice, no source).
func TypicalJig() Jig {
	return Jig{
		ReferenceOhm: 1000, ReferenceFarad: 0.5e-12, ReferenceHenry: 20e-9,
		SourceOhm: 33, SourceFarad: 220e-6,
		LeadOhm: 0.06, LeadHenry: 0.4e-6, FixtureFarad: 6e-12,
		ContactOhm: 2e-3, ContactSpreadOhm: 0.5e-3, FixtureSpreadFarad: 0.02e-12,
		Inputs: [2]Input{{Ohm: 220e3, Farad: 120e-12, CornerHz: 3}, {Ohm: 220e3, Farad: 135e-12, CornerHz: 3.2}},
	}
}

// withDefaults fills in what was left out and judges the rest.
func (j Jig) withDefaults() (Jig, error) {
	if j.Channels == [2]string{} {
		j.Channels = [2]string{"total", "part"}
	}
	if j.ReferenceOhm == 0 {
		j.ReferenceOhm = 1000
	}
	if j.DriveVolts == 0 {
		j.DriveVolts = 1
	}
	for i, v := range j.FullScaleVolts {
		if v == 0 {
			j.FullScaleVolts[i] = 1
		}
	}
	if j.Amplifier.OpenLoopGain == 0 {
		j.Amplifier.OpenLoopGain = 200e3
	}
	if _, err := j.wiring(); err != nil {
		return j, err
	}
	return j, j.check()
}

// check wants every value finite and not negative.
func (j *Jig) check() error {
	a := j.Amplifier
	values := []float64{j.ReferenceOhm, j.ReferenceFarad, j.ReferenceHenry, j.SourceOhm, j.SourceFarad,
		j.LeadOhm, j.LeadHenry, j.FixtureFarad, j.GroundFarad, j.ContactOhm, j.ContactSpreadOhm, j.FixtureSpreadFarad,
		j.DriveVolts, j.FullScaleVolts[0], j.FullScaleVolts[1],
		a.GainBandwidthHz, a.OpenLoopGain, a.OutputOhm, a.InputFarad}
	for _, in := range j.Inputs {
		values = append(values, in.Ohm, in.Farad, in.CornerHz, math.Abs(in.CommonMode))
	}
	for _, v := range values {
		if !(v >= 0) || math.IsInf(v, 0) {
			return fmt.Errorf("virtual: a jig with a value of %g; values are finite and not negative", v)
		}
	}
	return nil
}

// wiring is what the channels say of the place of part and reference.
type wiring uint8

const (
	partToGround wiring = iota
	referenceToGround
	differential
	virtualGround
)

// wiring finds it from the channels.
func (j *Jig) wiring() (wiring, error) {
	names := [2]string{}
	same := true
	for i, c := range j.Channels {
		if names[i] = c; c != "" && c[0] == '-' {
			names[i], same = c[1:], !same
		}
	}
	if names[0] > names[1] {
		names[0], names[1] = names[1], names[0]
	}
	switch names {
	case [2]string{"part", "total"}:
		return partToGround, nil
	case [2]string{"reference", "total"}:
		return referenceToGround, nil
	case [2]string{"part", "reference"}:
		if same {
			return differential, nil
		}
		return virtualGround, nil
	}
	return 0, fmt.Errorf("virtual: channels %q and %q are no wiring; take two of total, part and reference", j.Channels[0], j.Channels[1])
}
