// Package identify tells what an unknown part is from a sweep of its impedance: the
// family, the value with the preferred value nearest to it, where it resonates with itself,
// and over which frequencies it behaves as it is called.
//
//	Of(sweep) --> *Identity   family, confidence, reasons, value, nearest preferred value, range
//
// Equivalent circuits are fitted to the sweep on the covariance of its readings
// (package circuit); the family follows from the figures of the circuit that the
// sweep shows, not from its name alone: a capacitor with a loss that is the same
// everywhere has another dielectric than one whose loss rises with frequency.
//
// # Families
//
//	resistor                 phase near zero; what is left is lead and body
//	film or class-1 ceramic  smallest loss below 0.006
//	class-2 ceramic          smallest loss above 0.006, little of it in series resistance
//	electrolytic             0.33 µF or more, loss that rises to a plateau of resistance
//	leaky capacitor          loss that rises towards low frequencies as of a resistor across
//	coil in air              hardly any loss beside that of the wire
//	coil on a core           loss beyond the wire, rising with frequency
//	transformer winding      two inductances apart by far, with a loss between
//	resonator                two or three reactances that resonate in the sweep
//	loudspeaker              a coil with a damped resonance of its own below
//	network                  circuits that are no single part
//
// Limits between families are common practice, no source; within a third of a limit
// the confidence is less. What the sweep cannot tell is said to be so.
//
// # Conventions
//
// Those of package circuit: exp(+jωt), hertz, SI. Loss is D = −Re Z / Im Z of a
// capacitor and (Re Z − R) / Im Z of a coil, R that of the wire at direct current.
package identify
