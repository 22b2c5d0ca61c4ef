// Package impedance turns a complex impedance with its uncertainty into
// everything that is read from it: modulus, phase, series and parallel
// equivalents, Q, D, admittance, what the part is, and whether that can be said.
//
// # Values, uncertainties, intervals
//
// The value of a quantity is the model at the estimates of its inputs, u is the
// law of propagation at that point (JCGM 100), and the 95 % interval comes from
// the same model put through a Monte Carlo run (JCGM 101), so that few degrees
// of freedom, a dominant rectangular tolerance and curvature shape it. Runs are
// seeded: the same model gives the same reading.
//
// # What is not known is not shown
//
// A passive part has R ≥ 0, hence D ≥ 0 and G ≥ 0. Near zero one rule joins bound
// and interval, so that 95 % of them hold whatever the loss is (see nearzero.go):
// low is 0 up to an estimate of 1.64 u, and high is the usual 1.96 u above the
// estimate, or, below zero, the end of 95 % of what is possible of the sample. The
// value is the most likely one that is possible, the estimate or 0. Where low is 0
// the reciprocal (Q of D, parallel R of G) has a lower bound and nothing else.
//
// The sign of X decides between C and L. Where it is established, the other of
// the two is absent: no negative capacitance stands for an inductance. Where it
// is not, the sample still says something of either: if the part is inductive,
// series L is at most so large; if it is capacitive, series C is at least so
// large. Both are given as one-sided bounds without a value, since a value would
// choose one of them. D of a resistor has, likewise, only a lower bound.
//
// Im, Re and phase of Z, and G and B of Y, are coordinates and keep their sign:
// whoever goes on computing with them needs them unbiased.
//
// # Far from the reference
//
// Where the uncertainty is not small against Z (more than a twentieth of the sample is
// off by a quarter), figures are ranges over one region that holds 95 % of the
// sample, in the plane in which the sample is straight (see wide.go). The estimate lies
// in it, a passive part ends it at Re = 0, and a figure that grows without limit in it has
// no bound and no value.
//
// # State
//
// A reading is Open where Y = 0 lies within the region of Y, or within the 95 % region of
// both its coordinates, and all that is possible of |Z| is more than ten times
// Config.ReferenceOhm; Short likewise with Z = 0 and a tenth. A part that may lie nearer is
// a bound, in state OK. An open has a least modulus and a greatest parallel C, a short a
// greatest modulus, series R and series L, and what would need the other plane is absent.
package impedance
