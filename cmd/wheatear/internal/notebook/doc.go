// Package notebook keeps what was measured, in one SQLite file: the results of
// commands with the jig file and the calibration that they rest on, so that each
// can be understood and made again years later.
//
// An entry is one result: a reading, a sweep, a calibration, a jig, whatever has a
// schema of its own. Its JSON is kept as it is; what searching needs is taken out
// of it into columns (see result.go). Jig files and calibrations are kept once each,
// by their SHA-256, however many entries rest on them. Recordings, if they are kept,
// lie in a folder beside the file, named by their SHA-256.
//
// Every entry is one transaction in a write-ahead log that is flushed before Add
// returns: a process killed at any moment loses at most the entry it was adding.
// Several processes may add at the same time. Files carry a version (see
// schema.go): an older one is brought forward after a copy was made, a newer one
// is refused.
//
// A Notebook may be used by several goroutines at once.
package notebook
