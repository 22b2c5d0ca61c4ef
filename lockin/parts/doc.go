// Package parts speaks the language of the component trade: values as people
// write them (4k7, 100n, 0.22 µF), tolerances, and lists of test frequencies.
//
// Values are float64 in SI base units inside; text is understood and made only
// here. What is not understood is refused with a *SyntaxError that says at
// which character and what to write instead.
package parts
