// Package kept keeps runs of a sound card on disk and plays them back. A run is
// two files of one name: a WAV with what was recorded, to the last bit, and a JSON
// with the settings, the device and what the driver said.
//
// A run kept by somebody else is a card here: [Replay] gives the same records, in
// the same order, with the same events and ends.
package kept
