package portaudio

import (
	"fmt"
	"strings"
	"time"

	"example.org/wheatear/audio"
)

// Device is a sound device as PortAudio lists it.
type Device struct {
	Number        int     // place in the list; it shifts when something is plugged in
	API           string  // the driver's family, such as ALSA
	Name          string  // not always the only one of that name
	Inputs        int     // channels
	Outputs       int     // channels
	DefaultRateHz float64 // often 44100 whatever the device runs at

	InputLatency  time.Duration // what the driver suggests where there is no hurry
	OutputLatency time.Duration

	RatesHz       []float64 // the usual rates that the driver accepts; nil if not asked for
	DefaultInput  bool      // what the system records from if nothing is asked for
	DefaultOutput bool      // what the system plays on
}

// String returns number, family, name and channels.
func (d Device) String() string {
	return fmt.Sprintf("%d %s: %q (%d in, %d out)", d.Number, d.API, d.Name, d.Inputs, d.Outputs)
}

// FullName returns the name by which [Choose] finds the device, "API: name".
func (d Device) FullName() string { return d.API + ": " + d.Name }

// describe turns the device into what package audio calls one.
func (d Device) describe() audio.Device {
	return audio.Device{
		Name: d.Name, API: d.API, Inputs: d.Inputs, Outputs: d.Outputs,
		RatesHz: d.RatesHz, Default: d.DefaultInput || d.DefaultOutput, Note: d.note(),
	}
}

// note says what the family and the name tell about the way to the converter.
func (d Device) note() string {
	switch {
	case d.alsa() && !strings.Contains(d.Name, "(hw:"):
		return "goes through a sound server or a plug-in, which may convert the rate and change the level"
	case d.API == "MME" || d.API == "Windows DirectSound":
		return "goes through the system's mixer, which may convert the rate and change the level"
	}
	return ""
}

// alsa says whether full duplex is unsound on this device.
func (d Device) alsa() bool { return d.API == "ALSA" }

// jack says whether the device shares its clock with all others of its family.
func (d Device) jack() bool { return strings.HasPrefix(d.API, "JACK") }

// same says whether both are one entry of one list.
func (d Device) same(o Device) bool { return d.Number == o.Number && d.FullName() == o.FullName() }
