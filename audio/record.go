// Package audio describes what a sound card played and heard. It knows nothing
// of impedance and imports nothing of the measuring packages.
package audio

// Record is a stretch of sound that was captured or read from a file.
type Record struct {
	RateHz   float64     // frames per second
	Channels [][]float64 // one slice per channel, equal lengths, full scale = 1
	Bits     int         // resolution of an integer record; 0 for floating point
	Source   string      // where it came from: a file's name, a card's name
	Events   []Event     // what the driver or the file said
}

// Frames returns the number of samples in each channel.
func (r *Record) Frames() int {
	if len(r.Channels) == 0 {
		return 0
	}
	return len(r.Channels[0])
}

// EventKind names what a driver or a file reported.
type EventKind string

const (
	Overflow  EventKind = "overflow"  // input samples were lost
	Underflow EventKind = "underflow" // output had nothing to play
	Gap       EventKind = "gap"       // frames are missing at this place
	Truncated EventKind = "truncated" // the record ends before it should
	Remark    EventKind = "remark"    // worth knowing, harmless
)

// Event is something that a driver or a file reported about a record.
type Event struct {
	Kind   EventKind
	Frame  int64  // where in the record, -1 where no place is known
	Detail string // in words, with figures
}
