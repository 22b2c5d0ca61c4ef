package identify

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Fewest points from which a family is told, and with which it is told firmly.
const (
	fewestPoints = 2
	enoughPoints = 8
)

// What circuits cannot describe of a part, relative to |Z|, as it is tried: nothing,
// little, much. Each step takes confidence away.
var softness = [...]float64{0, 0.005, 0.04}

// hopeless is the relative rms from which on a circuit says nothing.
const hopeless = 0.15

// ErrSweep is wrapped by what is wrong with a sweep.
var ErrSweep = errors.New("identify: the sweep cannot be used")

// Of tells what a part is from a sweep. The covariance of the sweep, where it is
// known, decides between circuits; without it the residuals do.
//
// Special cases: with a single point only the kind is told by the phase, with
// low confidence. A part that fits no circuit is Unknown, or called what comes nearest
// with low confidence. Errors wrap ErrSweep.
func Of(d *circuit.Data) (*Identity, error) {
	if d == nil {
		return nil, fmt.Errorf("%w: there is none", ErrSweep)
	}
	if len(d.FreqHz) == 0 || len(d.Z) != len(d.FreqHz) {
		return nil, fmt.Errorf("%w: %d frequencies and %d impedances", ErrSweep, len(d.FreqHz), len(d.Z))
	}
	if d.Cov != nil && len(d.Cov) != len(d.Z) || d.Full != nil && d.Full.SymmetricDim() != 2*len(d.Z) {
		return nil, fmt.Errorf("%w: its covariance is not that of %d points", ErrSweep, len(d.Z))
	}
	if len(d.Z) < fewestPoints {
		return glance(d), nil
	}
	choice, soft, err := gently(d)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrSweep, err)
	}
	id := &Identity{Choice: choice}
	best := newView(&choice.Fits[0], d)
	w := decide(best)
	w.trust(best, soft)
	w.rivals(choice, d)
	w.points(best, len(d.Z))
	id.check(d, best, w)
	id.Family, id.Reasons = w.family, w.reasons
	if best.worst > hopeless {
		w.doubt(2, "The readings scatter by %s %%: too much to tell one part from another firmly.", figure(100*best.worst))
		if soft > 0 || d.Full == nil && d.Cov == nil {
			id.Family = Unknown
		}
		id.Reasons = w.reasons
	}
	id.Confidence = confidences[min(w.doubts, len(confidences)-1)]
	id.value(best, w)
	return id, nil
}

// gently chooses a circuit; where none follows the sweep within the uncertainty of the
// readings, one that comes near. soft says with which softness.
func gently(d *circuit.Data) (choice *circuit.Choice, soft int, err error) {
	for soft = range softness {
		choice, err = choose(d, softness[soft])
		if err != nil || choice.Fits[0].Near(softness[soft]) {
			return choice, soft, err
		}
		if d.Full == nil && d.Cov == nil {
			return choice, len(softness) - 1, nil // softer makes no difference
		}
	}
	return choice, soft, nil
}

// trust looks at how well the circuit follows the sweep.
func (w *verdict) trust(v *view, soft int) {
	text := fmt.Sprintf("The circuit %s follows the sweep within %s %% rms", v.Name, figure(100*v.worst))
	switch {
	case !v.Near(softness[soft]):
		w.doubt(2, "%s, which is not what the sweep shows.", text)
	case v.Agreement == circuit.NotJudged:
		w.because("%s; how much of that is noise is not known.", text)
	case soft == 0:
		w.because("%s, which is no more than the readings' uncertainty.", text)
	default:
		w.doubt(soft, "%s, which is more than the readings' uncertainty: near, but not all of it.", text)
	}
}

// rivals looks at circuits that do as well and mean something else.
func (w *verdict) rivals(c *circuit.Choice, d *circuit.Data) {
	var others []string
	for i := range c.Fits {
		f := &c.Fits[i]
		if !f.Rival {
			continue
		}
		if o := decide(newView(f, d)); o.family != w.family {
			others = append(others, fmt.Sprintf("a %s (%s)", o.family, f.Name))
		}
	}
	if len(others) > 0 {
		w.doubt(2, "The sweep does not tell it from %s.", strings.Join(others, " or "))
	}
}

// points looks at how much of a sweep there is.
func (w *verdict) points(v *view, n int) {
	switch {
	case n < enoughPoints:
		w.doubt(1, "There are only %d points; more of them tell more.", n)
	case v.highHz < 8*v.lowHz:
		w.doubt(1, "The sweep covers less than a decade, from %s to %s.", with(v.lowHz, "Hz"), with(v.highHz, "Hz"))
	}
}

// check asks whether any circuit can have the sweep.
func (id *Identity) check(d *circuit.Data, v *view, w *verdict) {
	c, err := circuit.Check(d)
	if err != nil {
		return
	}
	id.Consistency = c
	if c.Verdict == circuit.Consistent {
		return
	}
	steps := 1
	if c.Rms > softness[1] {
		steps = 2
	}
	w.doubt(steps, "By the Kramers–Kronig relations no part that stands still has this sweep: %s.", strings.TrimSuffix(c.Words(), "."))
}

// glance tells the kind from one point by its phase.
func glance(d *circuit.Data) *Identity {
	i := len(d.Z) - 1
	z, f := d.Z[i], d.FreqHz[i]
	id := &Identity{Family: Unknown, Confidence: Low, Value: uncertain.Absent(), ResonanceHz: uncertain.Absent()}
	phase := math.Atan2(imag(z), real(z)) * 180 / math.Pi
	switch {
	case math.Abs(phase) < 20:
		id.Family = Resistor
	case phase > 60:
		id.Family = Coil
	case phase < -60:
		id.Family = Capacitor
	}
	id.Reasons = append(id.Reasons, fmt.Sprintf("One frequency shows no more than a phase of %s degrees at %s; a sweep tells more.", figure(phase), with(f, "Hz")))
	if unit := id.Family.Unit(); unit != parts.None {
		v := reads(unit, f, z)
		id.Value, id.ValueHz = uncertain.NormalQuantity(v, spread(d, i)*v, 0), f
		if id.Value.U == 0 { // not known
			id.Value.U, id.Value.Low, id.Value.High = math.NaN(), math.Inf(-1), math.Inf(1)
		}
		id.mark()
	}
	return id
}

// spread is the relative standard uncertainty of a point; 0 where it is not known.
func spread(d *circuit.Data, i int) float64 {
	var v float64
	switch {
	case d.Full != nil:
		v = max(d.Full.At(2*i, 2*i), d.Full.At(2*i+1, 2*i+1))
	case d.Cov != nil:
		v = max(d.Cov[i].ReRe, d.Cov[i].ImIm)
	}
	return math.Sqrt(v) / magnitude(d.Z[i])
}
