package portaudio

import "time"

// driver is what this package needs of the PortAudio library. None of its calls
// may run beside another, and each of them may hang; [library] sees to both.
type driver interface {
	initialize() error
	terminate() error
	devices() ([]Device, error)
	supports(p params) bool
	// open prepares a stream whose calls go to t: onInput, onOutput or onDuplex by
	// the devices that p has.
	open(p params, t *take) (stream, error)
}

// stream is an opened stream.
type stream interface {
	start() error
	abort() error
	close() error
	info() (streamInfo, bool) // false if the library does not tell
}

// params describe a stream. A device that is nil is not used.
type params struct {
	in, out         *Device
	inCh, outCh     int
	rateHz          float64
	framesPerBuffer int // 0 leaves it to the driver
	latency         time.Duration
}

// streamInfo is what the library says of an opened stream.
type streamInfo struct {
	rateHz     float64
	inLatency  time.Duration
	outLatency time.Duration
}
