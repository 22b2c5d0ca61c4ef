// Package wave reads and writes RIFF/WAVE files, as streams and in constant
// memory.
//
// Read are 8, 16, 24 and 32 bit integers (and widths between them, left
// justified in their container) and 32 and 64 bit floating point, behind plain
// and extensible headers, in RIFF, RF64 and BW64 files, from anything that is an
// io.Reader. What a file says of its own length is only ever an upper bound:
// nothing is allocated from it, and what is really there is used. Where a file
// contradicts itself in a way that does not move a sample, reading goes on and
// an [audio.Event] says so.
//
// Integer full scale is -1 … 1-2^-(b-1) for b bits: the scale is 2^(b-1).
// Floating point is taken as it is, also beyond ±1, infinite or not a number.
//
// Layout: Multimedia Programming Interface and Data Specifications 1.0 (1991);
// the WAVE_FORMAT_EXTENSIBLE note (2001); EBU Tech 3306-2007 for RF64;
// ITU-R BS.2088 for BW64.
package wave
