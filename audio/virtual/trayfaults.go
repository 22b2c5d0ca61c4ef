package virtual

import "fmt"

// faultsTable is a [faults] of a tray file. Lists have one value for each input.
type faultsTable struct {
	Latency       int `toml:"latency_frames"`
	Silence       int `toml:"silence_frames"`
	Crosstalk     []number
	Gain          []number
	GainDrift     number   `toml:"gain_drift"`
	Delay         []number `toml:"delay_samples"`
	ClockPPM      number   `toml:"clock_ppm"`
	Third         []number `toml:"third_harmonic"`
	HumHz         number   `toml:"hum_hz"`
	HumLevels     []number `toml:"hum_levels"`
	Offset        []number
	Noise         []number
	PinkNoise     []number `toml:"pink_noise"`
	AutoGain      number   `toml:"auto_gain"`
	Clip          bool
	Bits          int
	ResampleHz    number `toml:"resample_hz"`
	Drop          []dropTable
	Mono, Swapped bool
}

type dropTable struct {
	Frame    int64
	Frames   int
	Fill     string // cut, zeros or repeat
	Reported bool
}

// fills are the words for what is found where samples went missing.
var fills = map[string]Fill{"": Cut, "cut": Cut, "zeros": Zeros, "repeat": Repeat}

// faults turns the table into faults.
func (t *faultsTable) faults() (Faults, error) {
	var l lists
	f := Faults{
		LatencyFrames: t.Latency, SilenceFrames: t.Silence,
		Crosstalk: two(&l, "crosstalk", t.Crosstalk), Gain: two(&l, "gain", t.Gain), GainDrift: float64(t.GainDrift), Delay: two(&l, "delay_samples", t.Delay),
		ClockPPM: float64(t.ClockPPM), Third: two(&l, "third_harmonic", t.Third), Hum: Hum{Hz: float64(t.HumHz)}, Offset: two(&l, "offset", t.Offset),
		Noise: two(&l, "noise", t.Noise), PinkNoise: two(&l, "pink_noise", t.PinkNoise), AutoGain: float64(t.AutoGain), Clip: t.Clip, Bits: t.Bits,
		ResampleHz: float64(t.ResampleHz), Mono: t.Mono, Swapped: t.Swapped,
	}
	for _, l := range t.HumLevels {
		f.Hum.Levels = append(f.Hum.Levels, float64(l))
	}
	for _, d := range t.Drop {
		fill, ok := fills[d.Fill]
		if !ok {
			return f, fmt.Errorf("a drop filled with %q; cut, zeros and repeat are possible", d.Fill)
		}
		f.Drops = append(f.Drops, Drop{d.Frame, d.Frames, fill, d.Reported})
	}
	return f, l.err
}
