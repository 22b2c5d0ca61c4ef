package portaudio

import "example.org/wheatear/audio"

// Describe turns the device into what package audio calls one. Its Note is empty
// where nothing is known to lie between the program and the hardware.
func (d Device) Describe() audio.Device { return d.describe() }
