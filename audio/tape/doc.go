// Package tape keeps the runs of a sound card in a folder and plays them back.
//
// A run is two files: NNN-label.wav, the record to the last bit, and
// NNN-label.json, a [Sheet] with everything else: the settings, the device, what
// the driver said, how the run ended. The WAV file alone is an ordinary recording.
package tape
