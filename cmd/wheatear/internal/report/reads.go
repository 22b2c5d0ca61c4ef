package report

import (
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// equivalent is one of the two equivalents of a reading, in words.
type equivalent struct {
	main  uncertain.Quantity
	unit  string // of main
	other uncertain.Quantity
	link  string // between main and other
	with  string // unit of other
}

// text is the value of the element that the part is mostly.
func (e equivalent) text() string { return full(e.main, e.unit) }

// rest is the other element and how it is connected.
func (e equivalent) rest() string {
	if !known(e.other) {
		return e.link
	}
	return padRight(e.link+" with", len("in parallel with")) + " " + full(e.other, e.with)
}

// kind is what the part is, or most likely is.
func kind(r impedance.Reading) impedance.Kind {
	if r.Dominance.Kind != impedance.Undecided {
		return r.Dominance.Kind
	}
	return r.Dominance.Likeliest
}

// equivalents are the two of a reading, the one that describes the part best
// first. One of which nothing is known is left out.
func equivalents(r impedance.Reading) []equivalent {
	series := arrange(r, r.Series, "in series")
	parallel := arrange(r, r.Parallel, "in parallel")
	all := []equivalent{series, parallel}
	if r.Fitting.Circuit == impedance.ParallelCircuit {
		all = []equivalent{parallel, series}
	}
	var out []equivalent
	for _, e := range all {
		if known(e.main) {
			out = append(out, e)
		}
	}
	return out
}

// arrange puts the element first that the part is.
func arrange(r impedance.Reading, e impedance.Equivalent, link string) equivalent {
	switch kind(r) {
	case impedance.Capacitor:
		return equivalent{e.C, "F", e.R, link, "Ω"}
	case impedance.Inductor:
		return equivalent{e.L, "H", e.R, link, "Ω"}
	}
	other, unit := reactance(e, link)
	return equivalent{e.R, "Ω", other, link, unit}
}

// reactance is the C or L beside a resistor: the one that has a value, else the
// bound that says that there is little of it.
func reactance(e impedance.Equivalent, link string) (uncertain.Quantity, string) {
	switch {
	case valued(e.C):
		return e.C, "F"
	case valued(e.L):
		return e.L, "H"
	case link == "in parallel":
		return e.C, "F"
	}
	return e.L, "H"
}

// loss is the figure that says how pure the part is.
func loss(r impedance.Reading) (name string, q uncertain.Quantity) {
	if kind(r) == impedance.Capacitor {
		return "D", r.D
	}
	return "Q", r.Q
}
