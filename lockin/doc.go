// Package lockin demodulates tones synchronously: [Demodulator] does so in a stream of any
// sample type, for many channels under one reference; [Fit] finds the complex amplitudes
// in a whole record, with their covariance; [Correlate] forms plain sums at many
// frequencies. The packages below plan stimuli, look for trouble in records, and make
// impedances of them.
//
// # Conventions
//
// They hold in every package below this one.
//
//   - Time runs as exp(+jωt). Inductive reactance is positive.
//   - Amplitudes are peak, relative to digital full scale = 1, unless a name
//     says otherwise. What a person is shown is rms, and says so.
//   - Phases are in radians; degrees appear only where a person reads them.
//   - Frequencies are in hertz (freqHz), rates in samples per second (rateHz),
//     resistances in ohm (refOhm). A bare float64 carries its unit in its name.
//   - A phasor A of x(t) = |A| cos(ωt + arg A) is in-phase Re A = |A| cos φ and
//     quadrature Im A = |A| sin φ. Its time origin is stated where it is made;
//     the whole-record estimator uses the middle of the part it analysed.
//   - Covariances of complex values are ordered Re 1, Im 1, Re 2, Im 2, …
//   - Channels are counted from 0 in code and from 1 in what a person reads.
//
// # Compatibility
//
// Through version 1 no exported name of this package goes away or changes its type, and
// a program that compiles goes on compiling and meaning the same. What may change: fields
// and names are added (write composite literals with keys); figures become more accurate,
// so that the last digits differ; errors say more, but wrap what they wrap. The packages
// below this one promise the same from version 1 on. Internal packages promise nothing.
//
// The package opens no file and no device, logs nothing, and never asks for the
// time: the sample index is the clock.
package lockin
