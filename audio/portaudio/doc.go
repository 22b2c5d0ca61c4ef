// Package portaudio plays and records through real sound cards by way of the
// PortAudio library. It is built with the tag portaudio and needs C then; without
// the tag everything compiles and [Open] and [List] say how to get it.
//
// # What can be relied on
//
// All inputs of a run come from one stream of one device, so from one converter.
// On ALSA the output is a stream of its own, because a full-duplex stream there
// may drop input without a word; elsewhere one stream serves both directions.
// Two devices can be used, one for each direction; their clocks are then apart,
// and an event of the record says so.
//
// # What can not
//
// The delay between output and input is unknown. The flags of the driver are
// events of the record, but a gap may come without a flag and a flag without a
// gap: whoever measures must judge the samples. The rate that the driver names is
// the one it was asked for; a sound server may convert it on the way, and no call
// tells. The resolution of the converter is not known either, so Record.Bits is 0.
//
// # Trouble
//
// A device that is unplugged, or whose server ends, shows itself only by calls
// that stop coming. After a second without one the run ends, cut short, with
// [audio.ErrLost]. Closing may then never return; it gets [closeLimit], and the
// goroutine that waits for it is left behind (its function is called
// closeStreams). Until it returns the library can't be used in this process.
package portaudio
