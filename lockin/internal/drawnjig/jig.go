package drawnjig

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
)

// Jig is a jig as it really is. Ohm, farad, henry.
type Jig struct {
	Config // what the jig file says of it

	ReferenceOhm, ReferenceFarad float64
	InputOhm, InputFarad         [2]float64
	Ground                       Ground
	SourceOhm                    float64
	SourceFarad                  float64 // coupling capacitor; 0 for none
	LeadOhm, LeadHenry           float64
	FixtureFarad                 float64
	GainBandwidthHz              float64    // of the amplifier of a virtual ground; 0 for an ideal one
	Gain                         complex128 // of input 2 over input 1
	DelaySamples                 float64    // likewise
	Cross                        [2]complex128

	OpenFarad, ShortOhm, ShortHenry, LoadFarad, LoadHenry float64

	// Clocks of the playing and the recording side, relative deviations.
	PlayClock, RecordClock float64

	Noise Noise

	Overtones []complex128 // of the source, relative to its tone, from the second on
	Curves    [2]Curve     // of the inputs; nil for straight ones

	rng      *rand.Rand
	loads    map[Load]float64
	sequence int
}

// Ground says where two inputs for differences are grounded.
type Ground int8

// Inputs for differences float, each across what it carries, or each of their sides
// has its own admittance to ground, at the far end of the part or of the reference.
const (
	GroundAtPart      Ground = -1
	Floating          Ground = 0
	GroundAtReference Ground = 1
)

// Circuit is one of the four places that part and reference can have.
type Circuit int

// The circuits by what their channels carry, whatever the order and the sign.
const (
	PartToGround      Circuit = iota // total, part
	ReferenceToGround                // total, reference
	Differences                      // part, reference
	VirtualGround                    // part, -reference
)

// Wirings returns every pair that two channels can carry.
func Wirings() [][2]string {
	var out [][2]string
	for _, pair := range [][2]string{{"total", "part"}, {"total", "reference"}, {"part", "reference"}} {
		for _, p := range [][2]string{pair, {pair[1], pair[0]}} {
			for _, sign := range [][2]string{{"", ""}, {"", "-"}, {"-", ""}, {"-", "-"}} {
				out = append(out, [2]string{sign[0] + p[0], sign[1] + p[1]})
			}
		}
	}
	return out
}

// circuit says where part and reference are.
func circuit(channels [2]string) Circuit {
	a, minusA := strings.CutPrefix(channels[0], "-")
	b, minusB := strings.CutPrefix(channels[1], "-")
	switch {
	case a != "total" && b != "total" && minusA != minusB:
		return VirtualGround
	case a != "total" && b != "total":
		return Differences
	case a == "part" || b == "part":
		return PartToGround
	}
	return ReferenceToGround
}

// Circuit says where part and reference are.
func (j *Jig) Circuit() Circuit { return circuit(j.Channels) }

// Insertion is what one insertion and one recording have of their own.
type Insertion struct {
	ContactOhm, StrayFarad float64
	Drift                  complex128 // relative, of input 2 over input 1
}

// Insert draws an insertion.
func (j *Jig) Insert() Insertion {
	return Insertion{
		ContactOhm: j.ContactU * j.rng.NormFloat64(),
		StrayFarad: j.StrayU * j.rng.NormFloat64(),
		Drift:      j.normal2(j.DriftU),
	}
}

// Transfer is what the two inputs record at a frequency with an admittance of y siemens
// at the terminals, re full scale, per volt (or unit) of the source; 0 is an open,
// infinity a short.
//
// Circuit theory by hand: series elements add their impedances, parallel ones their
// admittances, and dividers share voltages.
func (j *Jig) Transfer(freqHz float64, y complex128, in Insertion) [2]complex128 {
	w := 2 * math.Pi * freqHz
	part, ref := j.terminals(w, y, in), complex(1/j.ReferenceOhm, w*j.ReferenceFarad)
	load := map[string]complex128{}
	for i, c := range j.Channels {
		load[strings.TrimPrefix(c, "-")] = complex(1/j.InputOhm[i], w*j.InputFarad[i])
	}
	var volts map[string]complex128
	switch j.Circuit() {
	case PartToGround:
		a, p := j.divide(w, ref, part+load["part"], load["total"])
		volts = map[string]complex128{"total": a, "part": p}
	case ReferenceToGround:
		a, r := j.divide(w, part, ref+load["reference"], load["total"])
		volts = map[string]complex128{"total": a, "reference": r}
	case Differences:
		volts = j.differences(w, part, ref, load)
	default:
		volts = j.virtualGround(w, part, ref, load["part"])
	}
	var v [2]complex128
	for i, c := range j.Channels {
		name, minus := strings.CutPrefix(c, "-")
		if v[i] = volts[name]; minus {
			v[i] = -v[i]
		}
	}
	turn := cmplx.Exp(complex(0, -w*j.DelaySamples/j.RateHz))
	v[0], v[1] = v[0]+j.Cross[0]*v[1], j.Gain*turn*(1+in.Drift)*(v[1]+j.Cross[1]*v[0])
	for i, fs := range j.FullScale {
		if fs > 0 {
			v[i] /= complex(fs, 0)
		}
	}
	return v
}

// shorted stands for a short without any lead, where an admittance must be a number.
const shorted = 1e15

// terminals is what is connected as the inner end of the leads sees it, in siemens.
func (j *Jig) terminals(w float64, y complex128, in Insertion) complex128 {
	lead := complex(j.LeadOhm+in.ContactOhm, w*j.LeadHenry)
	if cmplx.IsInf(y) {
		if lead == 0 {
			return shorted
		}
		return 1 / lead
	}
	y += complex(0, w*(j.FixtureFarad+in.StrayFarad))
	return y / (1 + y*lead)
}

// source is the impedance behind the source.
func (j *Jig) source(w float64) complex128 {
	z := complex(j.SourceOhm, 0)
	if j.SourceFarad > 0 {
		z += complex(0, -1/(w*j.SourceFarad))
	}
	return z
}

// divide gives the voltages across an upper and a lower element together, and across
// the lower; top is what else loads both.
func (j *Jig) divide(w float64, upper, lower, top complex128) (both, low complex128) {
	series := upper * lower / (upper + lower)
	both = 1 / (1 + (series+top)*j.source(w))
	return both, both * upper / (upper + lower)
}

// differences has the part at the source, and the reference at ground; with the ground at
// the part's far end it is the other way round.
func (j *Jig) differences(w float64, part, ref complex128, load map[string]complex128) map[string]complex128 {
	p, r, top := part, ref, complex128(0)
	switch j.Ground {
	case Floating:
		p, r = p+load["part"], r+load["reference"]
	case GroundAtReference:
		r += load["part"] + load["reference"]
		top = load["part"]
	case GroundAtPart:
		p += load["part"] + load["reference"]
		top = load["reference"]
	}
	if j.Ground == GroundAtPart {
		both, low := j.divide(w, r, p, top)
		return map[string]complex128{"part": low, "reference": both * p / (p + r)}
	}
	both, low := j.divide(w, p, r, top)
	return map[string]complex128{"reference": low, "part": both * r / (p + r)}
}

// virtualGround has the part between source and the inverting input of an amplifier of
// gain GBW/(jf), and the reference from there to its output:
//
//	(a − n)·Y = (n − out)·Yr,  out = −A·n
func (j *Jig) virtualGround(w float64, part, ref, load complex128) map[string]complex128 {
	perGain := complex128(0)
	if j.GainBandwidthHz > 0 {
		perGain = complex(0, w/(2*math.Pi)/j.GainBandwidthHz)
	}
	// Per volt at a: out = −Y/(Yr + (Y + Yr)/A), and the current is (a − n)·Y.
	out := -part / (ref + (part+ref)*perGain)
	current := (1 + out*perGain) * part
	a := 1 / (1 + j.source(w)*(current+load))
	return map[string]complex128{"part": a, "reference": -out * a}
}

func (j *Jig) normal2(u float64) complex128 {
	re := u * j.rng.NormFloat64()
	return complex(re, u*j.rng.NormFloat64())
}

// File is the jig file: what the jig's owner says of it.
func (c Config) File() string {
	var s strings.Builder
	fmt.Fprintf(&s, "name = \"drawn\"\nchannels = [%q, %q]\nreference = \"%g\"\nreference_tolerance = \"%g%%\"\n",
		c.Channels[0], c.Channels[1], c.NominalOhm, 100*c.ReferenceTolerance)
	line := func(declared bool, key string, values ...float64) {
		if !declared {
			return
		}
		texts := make([]string, len(values))
		for i, v := range values {
			texts[i] = fmt.Sprintf("\"%g\"", v)
		}
		value := texts[0]
		if len(values) > 1 {
			value = "[" + strings.Join(texts, ", ") + "]"
		}
		fmt.Fprintf(&s, "%s = %s\n", key, value)
	}
	line(c.DeclaredFarad > 0, "reference_capacitance", c.DeclaredFarad)
	line(c.DeclaredInputOhm[0] > 0, "input_resistance", c.DeclaredInputOhm[:]...)
	line(c.DeclaredInputFarad[0] > 0, "input_capacitance", c.DeclaredInputFarad[:]...)
	line(c.FullScale[0] > 0, "full_scale", c.FullScale[:]...)
	line(c.MainsHz > 0, "mains", c.MainsHz)
	fmt.Fprintf(&s, "clock_tolerance = \"%gppm\"\ncontact_repeatability = \"%g\"\nstray_repeatability = \"%g\"\ndrift = \"%gppm\"\nchannel_match = \"%g%%\"\nchannel_delay = \"%g\"\n",
		1e6*c.ClockTolerance, c.ContactU, c.StrayU, 1e6*c.DriftU, 100*c.MatchU, c.DelayU)
	s.WriteString("[standards]\n")
	for _, r := range []struct {
		key string
		u   float64
	}{{"open_capacitance", c.OpenFaradU}, {"short_resistance", c.ShortOhmU}, {"short_inductance", c.ShortHenryU}, {"load_capacitance", c.LoadFaradU}, {"load_inductance", c.LoadHenryU}} {
		fmt.Fprintf(&s, "%s = [\"0\", \"%g\"]\n", r.key, r.u)
	}
	return s.String()
}
