// Package incircuit says what a part is while it is soldered in a board, from its
// impedance over frequency, and how far the surroundings let that be told.
//
// The jig sees a network. What belongs to the part and what to the rest can be told
// apart only where the two depend on frequency in different ways, and only if
// something is assumed of the rest. [Ask] therefore names families of surroundings
// (a resistor, another capacitor, a resistor with a capacitor or an inductor in
// series, and pairs of these), tries every family in parallel with the part, and a
// resistor also inside of it, and answers with the intervals of value and series
// resistance that all networks leave which count. Where none agrees with the sweep, or
// where they leave too much, the part is undetermined, and the answer says why: never a
// bare number.
//
// # Which networks count
//
// A network has the probability that Laplace's approximation gives it, with every size
// of an element equally probable beforehand (its logarithm, within a factor of 20 either
// way) and a ratio of 1 to 4.5 for each further branch. So no threshold of chi-square turns
// on the noise: near networks share the answer, and the intervals span all that have 5 %
// or more. The same approximation makes the intervals: the ends are where chi-square and
// the fine tuning that the other elements need have risen together by 5.99, so that value
// and series resistance are inside at once with 95 %. A network that does no better than
// a simpler one by Akaike's criterion says nothing and is left out.
//
// Some networks no sweep can tell apart: a resistor across the part and one across the
// capacitance inside of it; two branches of which either may be the part. They have
// different values, and the answer spans them, but for branches that are far from the
// nominal value.
//
// Assumptions, beside the families: everything is linear at the level of the sweep
// (package level tells), and the part is a capacitor with series resistance and
// inductance, an inductor with series resistance and parallel capacitance, or a
// resistor with series inductance.
//
// Sources: MacKay, Information Theory, Inference, and Learning Algorithms, 2003, chapter
// 28; Burnham and Anderson, Model Selection and Multimodel Inference, 2nd ed. 2002;
// intervals by the profile of chi-square, Venzon and Moolgavkar, Appl. Statist. 37
// (1988) 87 (all from memory).
package incircuit
