package live

import (
	"slices"
	"strings"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/portaudio"
)

// Pair is which devices would serve, and why these.
type Pair struct {
	Input, Output portaudio.Device
	Why           string
}

// Serving chooses the devices that would serve best, nil where none do. Two inputs
// on one converter are needed; output on the same device shares its clock; a
// device that goes straight to the hardware comes before one behind a mixer.
func Serving(devices []portaudio.Device) *Pair {
	var best *Pair
	top := 0
	for _, in := range devices {
		if in.Inputs < 2 {
			continue
		}
		for _, out := range devices {
			if out.Outputs < 1 {
				continue
			}
			p := &Pair{Input: in, Output: out}
			if rank := p.judge(); rank > top {
				best, top = p, rank
			}
		}
	}
	return best
}

// judge ranks a pair, above 0, and says why it has that rank.
func (p *Pair) judge() int {
	in, out := p.Input, p.Output
	rank := 1
	switch {
	case in.Number == out.Number:
		rank += 64
		p.Why = "two inputs and an output on one device, so on one clock"
	case in.API == out.API:
		rank += 8
		p.Why = "two inputs; the output is another device, whose clock is apart"
	default:
		p.Why = "two inputs; the output is another device of another family, whose clock is apart"
	}
	if in.Describe().Note == "" && out.Describe().Note == "" {
		rank += 32
		p.Why += "; straight to the hardware"
	} else {
		p.Why += "; through a mixer, which may convert the rate: set every volume to 100 % and leave it"
	}
	if !moves(in.Name) && !moves(out.Name) {
		rank += 16
	} else {
		p.Why += "; it goes along when the system's default changes, so better name another if there is one"
	}
	if slices.Contains(in.RatesHz, audio.DefaultRateHz) {
		rank += 4
	}
	if in.DefaultInput {
		rank += 2
	}
	if out.DefaultOutput {
		rank++
	}
	return rank
}

// moves reports whether a device is not one by itself but whatever the system uses
// at the time.
func moves(name string) bool { return strings.Contains(strings.ToLower(name), "default") }
