// Package bench is a page on this computer from which one measures: it shows what
// the inputs hear while they hear it, leads through a calibration and a sweep, and
// keeps what was measured.
//
// A [Bench] holds the jig in use, who has the card, and everything under way. Its
// [Bench.Handler] serves pages and a JSON interface; the pages do nothing that the
// interface does not. What changes is told to every page that listens.
//
//	activity (live, calibration, sweep, reading)  one at a time, it owns the card
//	desk     (jig, calibration, readings)         on disk, a folder for each jig
//	hub      (events)                             to the pages
//
// What was measured is written before it is shown, so that a program that is killed
// loses nothing but the record under way.
package page
