package audio

import (
	"errors"
	"fmt"
)

// Causes, for errors.Is.
var (
	ErrCutShort = errors.New("audio: run cut short")   // the record is kept
	ErrStopped  = errors.New("stopped by the watcher") // a Watch returned false
	ErrConfig   = errors.New("audio: settings")        // a Config that no card could follow
	ErrNoDevice = errors.New("no such device")         // none of that name, or none at all
	ErrBusy     = errors.New("device busy")            // in use, by us or by another program
	ErrDenied   = errors.New("access denied")          // the system does not let us
	ErrRate     = errors.New("rate not possible")      // the device lacks it
	ErrChannels = errors.New("too few channels")       // the device has fewer than asked for
	ErrLost     = errors.New("device gone")            // unplugged, or its server has ended
	ErrTimeout  = errors.New("device not answering")   // open, start or close took too long
)

// DeviceError says what failed on which device.
type DeviceError struct {
	Op     string // what was being done: "open", "start", "run", "close", "list"
	Device string // name, empty where no device was found
	Err    error
}

// Error says what, on which device, and why.
func (e *DeviceError) Error() string {
	if e.Device == "" {
		return fmt.Sprintf("audio: %s: %v", e.Op, e.Err)
	}
	return fmt.Sprintf("audio: %s %q: %v", e.Op, e.Device, e.Err)
}

// Unwrap returns the cause.
func (e *DeviceError) Unwrap() error { return e.Err }

// CutShort ends a run before its time, as the contract of [Card] wants it.
//
// With frames in rec it adds an event [Truncated] and returns rec and an error
// that wraps [ErrCutShort] and cause. Without any it returns nil and cause: the
// run has failed. want is the number of frames asked for.
func CutShort(rec *Record, want int, cause error) (*Record, error) {
	if rec == nil || rec.Frames() == 0 {
		return nil, fmt.Errorf("audio: nothing recorded: %w", cause)
	}
	rec.Events = append(rec.Events, Event{Kind: Truncated, Frame: int64(rec.Frames()),
		Detail: fmt.Sprintf("%d of %d frames recorded: %v", rec.Frames(), want, cause)})
	return rec, fmt.Errorf("%w after %d of %d frames: %w", ErrCutShort, rec.Frames(), want, cause)
}
