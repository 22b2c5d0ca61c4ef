package portaudio_test

import (
	"errors"
	"fmt"

	"example.org/wheatear/audio/portaudio"
)

// A part of a name is enough where it fits one device; else nothing is chosen.
func ExampleChoose() {
	devices := []portaudio.Device{
		{Number: 0, API: "ALSA", Name: "Line (hw:1,0)", Inputs: 2, Outputs: 2},
		{Number: 1, API: "ALSA", Name: "Line (hw:2,0)", Inputs: 2, Outputs: 2},
		{Number: 2, API: "ALSA", Name: "default", Inputs: 32, Outputs: 32},
	}
	chosen, err := portaudio.Choose(devices, "hw:2", portaudio.Input)
	fmt.Println(chosen, err)
	_, err = portaudio.Choose(devices, "line", portaudio.Input)
	fmt.Println(errors.Is(err, portaudio.ErrAmbiguous))
	fmt.Println(err)
	// Output:
	// 1 ALSA: "Line (hw:2,0)" (2 in, 2 out) <nil>
	// true
	// portaudio: "line" fits 2 input devices; give more of the name, or "API: name"
	//   0 ALSA: "Line (hw:1,0)" (2 in, 2 out)
	//   1 ALSA: "Line (hw:2,0)" (2 in, 2 out)
}
