package tell

import (
	"math"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/uncertain"
)

// Demodulation tells which tones a recording has, and what else.
func Demodulation(d *result.Demodulation) []block.Block {
	head := block.Headline{Title: block.Say("%v: %v, %v, %v at %v per second, used from %v to %v", d.File, block.Count(len(d.Channels), "channel"),
		seconds(float64(d.Frames)/d.RateHz), block.Count(int(d.Frames), "frame"), block.Number(d.RateHz, "", 7), seconds(d.UsedS[0]), seconds(d.UsedS[1]))}
	out := []block.Block{head}
	for _, t := range d.Tones {
		out = append(out, block.Headline{Title: block.Say("%v", block.Of(t.FreqHz, "Hz"))}, toneTable(t))
	}
	channels := block.Table{Columns: []block.Column{{Name: "channel"}, {Name: "peak"}, {Name: "noise, rms"}, {Name: "offset"}}}
	for _, c := range d.Channels {
		// A sine of the level has the rms of the noise.
		channels.Rows = append(channels.Rows, block.Row{Cells: []block.Value{count(c.Channel), loudness(c.Peak, 1), loudness(c.NoiseRMS, math.Sqrt2), block.Rough(math.Round(1e5*block.OrNaN(c.Offset))/1e5, "")}})
	}
	return append(out, channels, remarks(d), Findings(d.Findings))
}

// seconds is a time to the millisecond.
func seconds(s float64) block.Value {
	return block.Number(math.Round(s*1e3)/1e3, "s", 9)
}

// loudness is an amplitude re a full-scale sine.
func loudness(amplitude *float64, times float64) block.Value {
	if amplitude == nil {
		return block.Value{Quantity: uncertain.Absent()}
	}
	db := spectrum.AmplitudeDB(times * *amplitude)
	return dbfs(&db)
}

// toneTable has a line for each channel.
func toneTable(t result.Tone) block.Table {
	table := block.Table{Columns: []block.Column{{Name: "channel"}, {Name: "amplitude, peak"}, {Name: "level", Rank: 1}, {Name: "phase"}, {Name: "harmonics", Rank: 2}}}
	for _, c := range t.Channels {
		row := block.Row{Cells: []block.Value{count(c.Channel)}}
		if !c.Detected {
			row.Rest = block.Say("no tone")
		} else {
			phase := block.Number(0, "rad", 1)
			if c.Relative != nil {
				phase = block.Of(*c.Relative, "rad")
			}
			row.Cells = append(row.Cells, block.Of(c.Amplitude, ""), loudness(&c.Amplitude.Value, 1), phase, distortion(c.Harmonics))
		}
		table.Rows = append(table.Rows, row)
	}
	return table
}

// distortion is the level of all harmonics together.
func distortion(list []result.HarmonicRatio) block.Value {
	power := 0.0
	for _, h := range list {
		power += h.Ratio * h.Ratio
	}
	if power == 0 {
		return block.Value{Quantity: uncertain.Absent()}
	}
	return block.Number(math.Round(spectrum.PowerDB(power)), "dB", 3)
}

// remarks are the mains, and the places of a long recording to look at.
func remarks(d *result.Demodulation) block.Figures {
	var out block.Figures
	if lines := mainsLines(d.Mains); len(lines) > 0 {
		out.List = append(out.List, block.Figure{Key: "mains", Name: "mains", Value: block.Value{Quantity: uncertain.Absent(), Text: block.Join(lines, ", ")}})
	}
	for _, s := range d.Steps {
		out.List = append(out.List, block.Figure{Key: "phase_step", Name: "phase steps", Value: block.Value{Quantity: uncertain.Absent(),
			Text: block.Say("at most %v at %v, %v from the start; %v rms from segment to segment", block.Rough(math.Abs(s.Rad), "rad"), block.Hz(s.NominalHz), block.Number(s.AtS, "s", 4), block.Rough(s.RMSRad, "rad"))}})
	}
	if d.SkippedS > 0 {
		out.List = append(out.List, block.Figure{Key: "skipped", Name: "left out", Value: block.Number(d.SkippedS, "s", 3), Remark: block.Say("there the samples are no numbers")})
	}
	return out
}

// mainsLines are the stronger ones: those within 40 dB of the strongest, and above what
// any converter would drown in noise.
func mainsLines(lines []result.MainsLine) (list []block.Text) {
	const within, least = 0.01, 1e-6
	strongest := 0.0
	for _, l := range lines {
		strongest = max(strongest, slices.Max(append([]float64{0}, l.Amplitude...)))
	}
	for _, l := range lines {
		if worst := slices.Max(append([]float64{0}, l.Amplitude...)); worst > max(within*strongest, least) {
			list = append(list, block.Say("%v\u00a0%v", block.PlaceHz(l.FreqHz), loudness(&worst, 1)))
		}
	}
	return list
}
