// Package incircuit says what a part is while it is soldered in a board, from its
// impedance over frequency, and how far the surroundings let that be told.
//
// The jig sees a network. What belongs to the part and what to the rest can be told
// apart only where the two depend on frequency in different ways, and only if
// something is assumed of the rest. [Ask] therefore names families of surroundings
// (a resistor, another capacitor, a resistor with a capacitor or an inductor in
// series, and pairs of these), tries every family in parallel with the part, and
// answers with the interval that all families leave which agree with the data. Where
// none agrees, or where they leave too much, the answer is that it cannot be told,
// and why: never a bare number.
//
// Assumptions, beside the families: everything is linear at the level of the sweep
// (package level tells), the part is a capacitor with series resistance and
// inductance, an inductor with series resistance and parallel capacitance, or a
// resistor with series inductance, and a branch of the surroundings has its corner
// within the sweep, or at most a factor of 1.5 beyond: elsewhere it is a plain resistor or
// capacitor to the sweep.
//
// Sources: Akaike's criterion corrected for few points and weights from it by
// Burnham and Anderson, Model Selection and Multimodel Inference, 2nd ed. 2002;
// intervals by the profile of chi-square, Venzon and Moolgavkar, Appl. Statist. 37
// (1988) 87 (both from memory).
package incircuit
