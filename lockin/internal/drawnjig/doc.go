// Package drawnjig makes up believable jigs for tests: circuits with everything about
// them drawn, standards and parts, the phasors that their inputs record, and whole
// records of samples with the noise, hum and trouble of cards and sound systems.
//
// It imports nothing of the estimators and shares no formula with them: a wrong sign
// would cancel, and every test would pass.
//
// What a jig file declares is drawn from the distribution that it declares. What it
// leaves out is drawn as benches have it (ranges in draw.go; common practice, no
// source). One source of random numbers draws everything of a jig, in the order of the
// calls: the same seed and the same calls give the same jig, parts and recordings.
package drawnjig
