// Package circuit holds equivalent circuits: it reads and writes their notation,
// gives their impedance, fits their unknowns to a sweep with all that such a fit
// must say, chooses between circuits, and checks whether a sweep can come from any
// circuit at all.
//
// # Notation
//
// An element is a letter and a value; + is series, // is parallel and binds
// tighter, brackets group:
//
//	R 100k // (C 1u + R 0.2 + L 15n)
//
// A letter with a name stands for an unknown: Rs + C // Rp has the unknowns Rs, C
// and Rp. A name that comes twice is one unknown. A letter and one digit is a name
// (R1, C2). Values are in the notation of package parts.
//
//	R   resistor                          R 4k7        Z = R
//	C   capacitor                         C 100n       Z = 1/(jωC)
//	L   inductor                          L 8n         Z = jωL
//	Q   constant phase element            Q 1u^0.9     Z = 1/(Q (jω)^n)
//	W   diffusion, half-infinite          W 50         Z = σ(1−j)/√ω
//	K   fractional inductance             K 0.03^0.7   Z = K (jω)^n
//	S   round wire with skin effect       S 50m^17k    Z = R (v/2) I0(v)/I1(v), v = (1+j)√(f/fc)
//	E   coil on a core with eddy currents E 10m^5k     Z = jωL tanh(s)/s, s = (1+j)√(f/fc)
//	T   capacitance along a resistance    T 47u^2.5    Z = R coth(s)/s, s = √(jωRC)
//
// Elements with two values have ^ between them; with a name they are two unknowns:
// Qd is Qd and Qd.n, and in Qd^0.8 the exponent is known. The second unknowns are
// Q.n and K.n (exponents), S.f and E.f (corner frequency in Hz), T.R (the whole
// resistance that the capacitance is spread along).
//
// # From a sweep to a circuit
//
//	Data --Fit--> *Result      values, covariance, intervals, chi-square, notes, residuals
//	     --Choose--> Choice    which of several circuits, or that they cannot be told apart
//	     --Check--> Consistency   Kramers–Kronig: can this come from any circuit that stands still?
//
// [Fit] needs no starting values: it finds them in the data. [Named] lists the
// circuits that the trade has names for. [Solve] is the least-squares solver
// underneath and takes any residual function.
//
// # Conventions
//
// exp(+jωt), so that an inductive reactance is positive; frequencies in hertz;
// values in SI base units; covariances of (Re Z, Im Z) in ohm². What is not
// determined by the data is said to be so, with the bound that the data do give.
//
// # Sources
//
// Moré, The Levenberg–Marquardt algorithm: implementation and theory, 1978.
// Boukamp, J. Electrochem. Soc. 142 (1995) 1885. Schönleber, Klotz, Ivers-Tiffée,
// Electrochim. Acta 131 (2014) 20. Gustavsen and Semlyen, IEEE Trans. Power
// Delivery 14 (1999) 1052. Burnham and Anderson, Model Selection and Multimodel
// Inference, 2002. Each file says which symbol there is which name here.
package circuit
