package portaudio

import (
	"errors"
	"strings"
	"testing"

	"example.org/wheatear/audio"
)

// twins is what a machine shows with two interfaces of one model and with a device
// name that two families share.
var twins = []Device{
	{Number: 0, API: "ALSA", Name: "USB Audio: (hw:1,0)", Inputs: 2, Outputs: 2},
	{Number: 1, API: "ALSA", Name: "USB Audio: (hw:2,0)", Inputs: 2, Outputs: 2},
	{Number: 2, API: "ALSA", Name: "default", Inputs: 32, Outputs: 32},
	{Number: 3, API: "JACK", Name: "default", Inputs: 2, Outputs: 2},
}

func TestChoose(t *testing.T) {
	cases := []struct {
		name string
		want []int // numbers: one is the choice, none is not found, more are ambiguous
	}{
		{"USB", []int{0, 1}},
		{"hw:2", []int{1}},
		{"default", []int{2, 3}},
		{"JACK: default", []int{3}},
		{"Foo", nil},
		{"7", nil},
		{"2", nil}, // would be a part of a name and a place in the list
		{"usb audio: (HW:1", []int{0}},
		{"USB Audio: (hw:1,0)", []int{0}},
		{"USB Audio: ", []int{0, 1}},
		{"ALSA: USB", []int{0, 1}},
		{"alsa: hw:2", []int{1}},
		{"ALSA: default", []int{2}},
		{"JACK: USB", nil},
		{"DEF", []int{2, 3}},
		{" ", []int{0, 1}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := Choose(twins, c.name, Either)
			if len(c.want) == 1 {
				if err != nil || got.Number != c.want[0] {
					t.Errorf("got %v, %v; want number %d", got, err, c.want[0])
				}
				return
			}
			checkRefusal(t, got, err, c.want)
		})
	}
}

// checkRefusal wants the error that belongs to the candidates.
func checkRefusal(t *testing.T, got Device, err error, want []int) {
	t.Helper()
	cause := audio.ErrNoDevice
	if len(want) > 1 {
		cause = ErrAmbiguous
	}
	var choice *ChoiceError
	if !errors.Is(err, cause) || !errors.As(err, &choice) || got.Name != "" {
		t.Fatalf("got %v, %v; want an error that wraps %q", got, err, cause)
	}
	listed := want
	if len(want) == 0 {
		listed = []int{0, 1, 2, 3} // what there is
	}
	if len(choice.Devices) != len(listed) {
		t.Fatalf("the error lists %v, want the numbers %v", choice.Devices, listed)
	}
	for i, d := range choice.Devices {
		if d.Number != listed[i] {
			t.Errorf("the error lists %v, want the numbers %v", choice.Devices, listed)
		}
		for _, part := range []string{d.String(), d.API, d.Name, "in, "} {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("the text lacks %q: %v", part, err)
			}
		}
	}
}

// On many systems a card's microphone and its speaker are devices of one name.
func TestChooseByDirection(t *testing.T) {
	list := []Device{
		{Number: 0, API: "MME", Name: "Headset (line)", Inputs: 2, DefaultInput: true},
		{Number: 1, API: "MME", Name: "Headset (line)", Outputs: 2},
		{Number: 2, API: "MME", Name: "Monitor", Outputs: 2, DefaultOutput: true},
	}
	for _, c := range []struct {
		name string
		dir  Direction
		want int
	}{{"headset", Input, 0}, {"headset", Output, 1}, {"", Input, 0}, {"", Output, 2}} {
		if got, err := Choose(list, c.name, c.dir); err != nil || got.Number != c.want {
			t.Errorf("%q for %v: got %v, %v; want number %d", c.name, c.dir, got, err, c.want)
		}
	}
	if _, err := Choose(list, "Monitor", Input); !errors.Is(err, audio.ErrNoDevice) {
		t.Errorf("a device without inputs was chosen for input: %v", err)
	}
	if _, err := Choose(list[1:2], "", Output); !errors.Is(err, audio.ErrNoDevice) || !strings.Contains(err.Error(), "no default output") {
		t.Errorf("no default gave %v", err)
	}
}

func TestChooseFromNothing(t *testing.T) {
	_, err := Choose(nil, "card", Input)
	if !errors.Is(err, ErrNone) || !errors.Is(err, audio.ErrNoDevice) {
		t.Fatalf("got %v", err)
	}
	for _, reason := range []string{"no card", "/dev/snd", "group audio", "no sound server"} {
		if !strings.Contains(err.Error(), reason) {
			t.Errorf("%q does not name the reason %q", err, reason)
		}
	}
	if strings.Contains(err.Error(), "\n") {
		t.Errorf("more than one line: %q", err)
	}
}

// Numbers in an error text must be told apart from names.
func TestBareNumberIsExplained(t *testing.T) {
	_, err := Choose(twins, "7", Either)
	if !strings.Contains(err.Error(), "numbers change") {
		t.Errorf("got %v", err)
	}
}
