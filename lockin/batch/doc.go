// Package batch sorts parts of one kind and says how a run of them spreads.
//
//   - [Bins] are where parts go: values of a preferred series, tolerances about a
//     nominal value, or ranges. A part between two bins is said to be so.
//   - [SpreadOf] is the spread of the parts themselves: what the measurement adds is
//     taken out, and outliers do not count.
//   - [Presence] follows readings and says when a part has been put in, has settled,
//     and was taken out again; [Succession] follows parts one after the other by it,
//     and doubts what may be one part twice.
package batch
