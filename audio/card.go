package audio

import "context"

// Card is a sound card, or what stands for one: it plays a stimulus and records
// the answer at the same time.
//
// Run plays stimulus (full scale 1, one sample per frame, the same on every
// output of cfg) and silence after it, and records cfg.Frames frames of
// cfg.Inputs, beginning about when it begins to play. The delay between the two
// is unknown to the caller and may differ from run to run; within a run it is
// constant. All inputs come from one converter, or an event says otherwise.
//
// A run ends in one of three ways, which are never mixed:
//
//   - complete: the record has cfg.Frames frames and err is nil;
//   - cut short: the record has some frames, fewer than asked for, it ends in an
//     event [Truncated], and err wraps [ErrCutShort] and the cause. What is there
//     is as good as in a complete run;
//   - failed: the record is nil, and err does not wrap [ErrCutShort].
//
// [CutShort] gives a backend the last two. When ctx ends, Run returns within a
// second or so, cut short or failed, with an error that wraps ctx's. Run does not
// return before all that it started has ended. What spoils data but not the run,
// such as an overflow, is an [Event] of the record with its frame, never an error
// and never patched over. Record.RateHz and Bits are what the device did, not
// what was asked of it.
//
// Run neither keeps nor changes stimulus and the slices in cfg, and the record
// belongs to the caller. A card may be run again after every kind of end. A
// second Run while one is under way is either independent of it or refused with
// an error that wraps [ErrBusy].
type Card interface {
	Run(ctx context.Context, cfg Config, stimulus []float64) (*Record, error)
}

// Watch sees the frames of a run as they arrive: one slice per channel, equal
// lengths, the first of them frame number first of the record. The block is
// valid during the call only. Returning false ends the run, cut short with the
// cause [ErrStopped]. It is called from one goroutine at a time and must not call
// the card.
type Watch func(first int64, block [][]float64) bool

// Monitor is implemented by a card that can show a run while it lasts. The blocks
// follow each other without gap or overlap, and together they are the record.
type Monitor interface {
	Card
	RunMonitored(ctx context.Context, cfg Config, stimulus []float64, watch Watch) (*Record, error)
}

// Lister is implemented by a card, or a backend, that can tell which devices there
// are. No device at all is an empty list and no error.
type Lister interface {
	Devices(ctx context.Context) ([]Device, error)
}

// Describer is implemented by a card that can tell what device it is.
type Describer interface {
	Describe() Device
}

// Device describes a sound device as its driver does.
type Device struct {
	Name    string    `json:"name"`
	API     string    `json:"api,omitempty"` // the driver's family, such as ALSA
	Inputs  int       `json:"inputs"`        // channels
	Outputs int       `json:"outputs"`       // channels
	RatesHz []float64 `json:"rates_hz,omitempty"`
	Default bool      `json:"default,omitempty"` // what the system uses if nothing is asked for
	Note    string    `json:"note,omitempty"`
}
