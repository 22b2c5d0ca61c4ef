// Package drawnjig makes up believable jigs for tests: circuits with everything about
// them drawn within what is declared, the phasors that their inputs hear, and whole
// records of samples with the noise, hum and trouble of cards and sound systems.
//
// It imports nothing of the estimators and shares no formula with them: a wrong sign
// would cancel, and every test would pass.
package drawnjig
