package virtual

import "math"

// element is a law that is not linear. Its unknown w is a voltage, or the flux of a
// core; from it follow what the element gives to its port, s(w), and what it
// stores there, g(w): the port sees dg/dt, or g itself if nothing is stored.
type element interface {
	// at returns g, its slope, s and its slope.
	at(w float64) (g, dg, s, ds float64)
	// stores says whether the port sees dg/dt.
	stores() bool
	// limit shortens a step of Newton's method from w to next.
	limit(w, next float64) float64
	// fine is a change of w after which the next, of Newton's method, does not matter:
	// it is of the order of the square.
	fine() float64
}

// thermalVolt is kT/q at 300 K: 1.380649e-23·300/1.602176634e-19 (SI, 2019).
const thermalVolt = 1.380649e-23 * 300 / 1.602176634e-19

// junction is the law of a [Junction]: s is its current, g its voltage.
type junction struct{ saturation, volt float64 }

func (d Junction) place(b *built, a, c node) {
	if d.Reverse {
		a, c = c, a
	}
	if d.SaturationA == 0 {
		d.SaturationA = 4e-9
	}
	if d.Emission == 0 {
		d.Emission = 1.85
	}
	count := float64(max(1, d.Count))
	inner := b.net.behind(a, d.SeriesOhm)
	b.net.capacitor(inner, c, d.Farad/count)
	b.net.currentPort(inner, c)
	b.elements = append(b.elements, junction{d.SaturationA, d.Emission * thermalVolt * count})
}

func (d junction) at(v float64) (g, dg, s, ds float64) {
	e := math.Exp(min(v/d.volt, 300)) // finite, whatever is tried
	return v, 1, d.saturation * (e - 1), d.saturation * e / d.volt
}

func (junction) stores() bool { return false }

// limit goes up the exponential in steps that its logarithm bears.
func (d junction) limit(v, next float64) float64 {
	if step := (next - v) / d.volt; step > 1 {
		return v + d.volt*(1+math.Log(step))
	}
	return next
}

func (d junction) fine() float64 { return 1e-5 * d.volt }

// ceramic is the law of a [Ceramic]: s is its voltage, g its charge.
type ceramic struct{ farad, volt float64 }

func (c Ceramic) place(b *built, a, to node) {
	if c.SeriesOhm == 0 {
		c.SeriesOhm = 10e-3
	}
	inner := b.net.behind(a, c.SeriesOhm)
	if c.Henry > 0 {
		next := b.net.node()
		b.net.inductor(inner, next, c.Henry)
		inner = next
	}
	if c.LeakOhm > 0 {
		b.net.conductance(inner, to, 1/c.LeakOhm)
	}
	b.net.voltagePort(inner, to)
	b.elements = append(b.elements, ceramic{c.Farad, c.Volt})
}

func (c ceramic) at(v float64) (g, dg, s, ds float64) {
	x := v / c.volt
	root := math.Sqrt(1 + x*x)
	return c.farad * v / root, c.farad / (root * root * root), v, 1
}

func (ceramic) stores() bool { return true }

func (c ceramic) limit(v, next float64) float64 {
	return v + max(-c.volt, min(next-v, c.volt))
}

func (c ceramic) fine() float64 { return 1e-5 * c.volt }

// core is the law of a [Core]: s is its current, g its flux.
type core struct{ henry, flux float64 }

func (c Core) place(b *built, a, to node) {
	if c.LossOhm == 0 {
		c.LossOhm = 1e6
	}
	b.net.capacitor(a, to, c.Farad)
	inner := b.net.behind(a, c.WindingOhm)
	b.net.resistor(inner, to, c.LossOhm)
	b.net.currentPort(inner, to)
	b.elements = append(b.elements, core{c.Henry, c.FluxVs})
}

func (c core) at(flux float64) (g, dg, s, ds float64) {
	x := flux / c.flux
	x4 := x * x * x * x
	return flux, 1, flux / c.henry * (1 + x4), (1 + 5*x4) / c.henry
}

func (core) stores() bool { return true }

func (c core) limit(flux, next float64) float64 {
	return flux + max(-c.flux, min(next-flux, c.flux))
}

func (c core) fine() float64 { return 1e-5 * c.flux }
