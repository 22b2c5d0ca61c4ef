// Package level tells how a part depends on the level at which it is read, and
// what kind of part does so.
//
// Every reading has a level: the voltage across the part, the current through it,
// rms. The same part read at several levels of one frequency gives a [Study]:
//
//   - a [Curve] for its main quantity (C, L or R) and one for its loss, each with
//     what it would be at level zero and how far that can be told;
//   - the harmonics that rise in the part itself (see fixture.PartHarmonics);
//   - the [Kind] of part that does this, with reasons and confidence.
//
// What readings share, such as the tolerance of the load that calibrated them,
// moves all points of a curve alike. The curve is therefore fitted with what
// differs from point to point, and the shared part comes back at the end.
package level
