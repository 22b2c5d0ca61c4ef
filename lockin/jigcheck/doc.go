// Package jigcheck tells whether a homebuilt jig and its card can be believed.
//
// Evidence is a list of recordings, each of one [Step]: silence, both inputs on one
// node, one input terminated, open, short and known resistors, levels, a long run.
// [Examine] makes [Figure]s of them, and of the figures [Fault]s with size, unit,
// interval and what to change on the bench.
//
// # What the inputs do
//
// At each frequency the voltages v on the two inputs are heard as
//
//	h1 = G1·(v1 + c12·v2)
//	h2 = G2·(v2 + c21·v1)
//
// Both inputs on one node give G2/G1, one input terminated gives its c; from there
// on the voltages are known up to a common factor, whatever card it is. What is left
// is the jig: P/Q = z/r, with z the part and what lies across it, and r the
// reference as the input across it leaves it.
//
// # When a figure is a fault
//
// A figure is compared with what the jig file states of it, or where it states
// nothing with what an ordinary jig and card do (see [Ordinary]). It is a fault where
// it lies beyond by more than four of its own standard uncertainties, of which noise,
// drift and the tolerances of the known resistors are parts. With normal noise that is
// wrong in 3 of 100 000 figures (one-sided), in about one of 500 examinations.
//
// One cause shows in many figures. What an automatic gain, a conversion of the rate or
// lost samples spoil is not judged by itself as well.
//
// The package reads no files and no clock.
package jigcheck
