// Package parts speaks the language of the component trade.
//
//	values        4k7, 100n, 0.22 µF, 0.1%, 20..20k/31      ParseValue, FormatValue
//	markings      4n7K, 472, 66B, A5, yellow violet red gold Decode, Read, Encode
//	series        E3 to E192, nearest values, neighbours     Series
//	conditions    frequency, level, bias, limit of loss      Conditions
//	conformity    pass, fail or undecided, and the risk      Judge
//
// Values are float64 in SI base units inside; text is understood and made only
// here. What is not understood is refused with a *SyntaxError that says at
// which character and what to write instead.
//
// # Sources
//
// IEC 60062:2016 with Amendment 1:2019, marking codes. IEC 60063:2015, preferred
// numbers. IEC 60384-1, IEC 60115-1 and others, test conditions: each row of the
// table says where it was read, or that it is from memory or common practice.
// JCGM 106:2012, conformity. Symbols there and names here: y Value, u U, T_L and
// T_U Limits, p_c Conformance, C_m Capability, g guard, r GuardRatio.
package parts
