// Package predict tells before a measurement what it will come to: how far a part
// will be known at a frequency, with a reference, at a level and for a length of
// record, and what will limit that.
//
// There is no second model of uncertainty here. A prediction makes the phasors that
// open, short, load and part are expected to give, with the noise that the estimator
// will find in them (the Cramér–Rao bound, which it reaches), and hands them to
// fixture.Calibrate and fixture.Measure as if they had been recorded. Whatever those
// say of the part is the prediction.
//
// Sources: Rife and Boorstyn, IEEE Trans. Inf. Theory 20 (1974) 591, for the bound;
// package fixture for everything else.
package predict
