package portaudio

import (
	"errors"
	"fmt"
	"strings"

	"example.org/wheatear/audio"
)

// Direction says what a device is wanted for.
type Direction uint8

// Directions.
const (
	Either Direction = iota
	Input
	Output
)

// String returns "sound", "input" or "output".
func (d Direction) String() string {
	return [...]string{"sound", "input", "output"}[d%3]
}

// serves says whether the device has a channel in the direction.
func (d Direction) serves(dev Device) bool {
	return d == Either || d == Input && dev.Inputs > 0 || d == Output && dev.Outputs > 0
}

// ErrAmbiguous is the cause of a [ChoiceError] where several devices fit.
var ErrAmbiguous = errors.New("the name fits more than one device")

// ErrNone is the cause where the system shows no sound device at all. It wraps
// [audio.ErrNoDevice].
var ErrNone = fmt.Errorf("%w: the system shows no sound device at all; the usual reasons are that there is no card, "+
	"that this user may not open /dev/snd (join the group audio), or that no sound server runs", audio.ErrNoDevice)

// ChoiceError says why no device was chosen.
type ChoiceError struct {
	Name    string
	Want    Direction
	Devices []Device // that the name fits; those there are if it fits none
	Err     error    // ErrAmbiguous, ErrNone or audio.ErrNoDevice
}

// Error says why, and lists the devices with number, API and channels.
func (e *ChoiceError) Error() string {
	var b strings.Builder
	switch {
	case errors.Is(e.Err, ErrNone):
		return "portaudio: " + e.Err.Error()
	case errors.Is(e.Err, ErrAmbiguous):
		fmt.Fprintf(&b, "portaudio: %q fits %d %s devices; give more of the name, or \"API: name\"", e.Name, len(e.Devices), e.Want)
	case bareNumber(e.Name):
		fmt.Fprintf(&b, "portaudio: no %s device is called %q; choose by name, since numbers change when something is plugged in", e.Want, e.Name)
	case e.Name == "":
		fmt.Fprintf(&b, "portaudio: the system has no default %s device; name one", e.Want)
	default:
		fmt.Fprintf(&b, "portaudio: no %s device is called %q", e.Want, e.Name)
	}
	if len(e.Devices) > 0 && !errors.Is(e.Err, ErrAmbiguous) {
		b.WriteString("; there are")
	}
	for _, d := range e.Devices {
		b.WriteString("\n  " + d.String())
	}
	return b.String()
}

// Unwrap returns the cause.
func (e *ChoiceError) Unwrap() error { return e.Err }

// Choose finds the device that is meant by a name: the name itself, "API: name",
// or a part of either that fits one device alone. Part of the API's name is
// enough; capital and small letters are the same in a part. Only devices with a
// channel in the direction count. The empty name means the system's default for
// it. A bare number is no name: positions in the list change.
//
// The error is a [*ChoiceError]; there is never another device in its place.
func Choose(devices []Device, name string, want Direction) (Device, error) {
	if len(devices) == 0 {
		return Device{}, &ChoiceError{Name: name, Want: want, Err: ErrNone}
	}
	var usable []Device
	for _, d := range devices {
		if want.serves(d) {
			usable = append(usable, d)
		}
	}
	for _, fits := range matchers(name, want) {
		found := filter(usable, fits)
		if len(found) == 1 {
			return found[0], nil
		}
		if len(found) > 1 {
			return Device{}, &ChoiceError{Name: name, Want: want, Devices: found, Err: ErrAmbiguous}
		}
	}
	return Device{}, &ChoiceError{Name: name, Want: want, Devices: usable, Err: audio.ErrNoDevice}
}

// matchers returns the ways in which a name may fit, strictest first.
func matchers(name string, want Direction) []func(Device) bool {
	if name == "" {
		return []func(Device) bool{func(d Device) bool {
			return want != Output && d.DefaultInput || want != Input && d.DefaultOutput
		}}
	}
	list := []func(Device) bool{
		func(d Device) bool { return d.Name == name },
		func(d Device) bool { return d.FullName() == name },
	}
	if bareNumber(name) {
		return list
	}
	api, rest, split := strings.Cut(name, ": ")
	return append(list,
		func(d Device) bool { return split && within(d.API, api) && d.Name == rest },
		func(d Device) bool { return within(d.Name, name) },
		func(d Device) bool { return split && within(d.API, api) && within(d.Name, rest) })
}

func filter(devices []Device, fits func(Device) bool) []Device {
	var out []Device
	for _, d := range devices {
		if fits(d) {
			out = append(out, d)
		}
	}
	return out
}

// within says whether part is in text, whatever the case.
func within(text, part string) bool {
	return strings.Contains(strings.ToLower(text), strings.ToLower(part))
}

func bareNumber(name string) bool {
	return name != "" && strings.Trim(name, "0123456789") == ""
}
