// Package coverage holds a test of what a 95 % interval is worth, end to end: on
// simulated cards, benches of which everything that a jig file declares is drawn
// anew (contact, stray, drift, tolerances, what the standards are not, clocks) are
// calibrated and read, and it is counted how often the intervals contain the true value.
//
// It has no code beside its tests; it stands alone because it needs the library and
// the simulated card, and no command.
package coverage
