package result

import "example.org/wheatear/audio"

// Devices is the schema wheatear.devices/1: the sound cards.
type Devices struct {
	Schema    string       `json:"schema"`
	Devices   []Device     `json:"devices"`
	Pair      *DevicePair  `json:"pair"` // that would serve; null for none
	Simulated audio.Device `json:"simulated"`
}

// DevicesSchema is what a Devices says it is.
const DevicesSchema = "wheatear.devices/1"

// Device is a sound device as its driver describes it.
type Device struct {
	Number        int       `json:"number"`
	API           string    `json:"api"` // family of drivers
	Name          string    `json:"name"`
	Inputs        int       `json:"inputs"`
	Outputs       int       `json:"outputs"`
	RatesHz       []float64 `json:"rates_hz"`
	DefaultInput  bool      `json:"default_input"`
	DefaultOutput bool      `json:"default_output"`
	Note          string    `json:"note"`
}

// DevicePair names an input and an output device as a jig file does.
type DevicePair struct {
	Input  string `json:"input"`
	Output string `json:"output"`
	Why    string `json:"why"`
}
