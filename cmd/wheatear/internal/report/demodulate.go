package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/spectrum"
)

// Demodulate writes for people what a recording holds.
func Demodulate(w io.Writer, d *Demodulation) error {
	var b bytes.Buffer
	Wrap(&b, "", fmt.Sprintf("%s: %s, %s, %s at %g per second, used from %.3f s to %.3f s",
		d.File, plural(len(d.Channels), "channel"), Tie(fmt.Sprintf("%.3f s", float64(d.Frames)/d.RateHz)),
		plural(int(d.Frames), "frame"), d.RateHz, d.FromS, d.ToS))
	d.tones(&b)
	d.channels(&b)
	d.remarks(&b)
	if len(d.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, d.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// tones writes a block for each tone with a line for each channel.
func (d *Demodulation) tones(w io.Writer) {
	for _, t := range d.Tones {
		rows := [][]string{{"channel", "amplitude, peak", "", "phase", "harmonics"}}
		for ch, c := range t.Channels {
			row := []string{strconv.Itoa(ch + 1), "no tone"}
			if c.Detected {
				row = []string{strconv.Itoa(ch + 1), full(c.Amplitude, ""), dbfs(c.Amplitude.Value), c.relative(), c.harmonics()}
			}
			rows = append(rows, row)
		}
		fmt.Fprintf(w, "\n%s\n", full(t.FreqHz, "Hz"))
		columns(w, rows, padLeft)
	}
}

// relative is the phase to the first channel; there it is none.
func (c ToneInChannel) relative() string {
	if c.RelativeRad.U < 1e-12 {
		return "0 °"
	}
	return full(degrees(c.RelativeRad), "°")
}

// harmonics is the level of all harmonics together.
func (c ToneInChannel) harmonics() string {
	power := 0.0
	for _, h := range c.Harmonics {
		power += h * h
	}
	if power == 0 {
		return ""
	}
	return strconv.FormatFloat(spectrum.PowerDB(power), 'f', 0, 64) + " dB"
}

// channels writes a line for each channel.
func (d *Demodulation) channels(w io.Writer) {
	rows := [][]string{{"channel", "peak", "noise (rms)", "offset"}}
	for i, c := range d.Channels {
		// A sine of the level has the rms of the noise.
		rows = append(rows, []string{strconv.Itoa(i + 1), dbfs(c.Peak), dbfs(c.NoiseRMS * math.Sqrt2), fixed(c.Offset, 5)})
	}
	fmt.Fprintln(w)
	columns(w, rows, padLeft)
}

// fixed writes a number to so many decimals, without those that are zero.
func fixed(v float64, decimals int) string {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	return unsigned(strings.TrimRight(strings.TrimRight(text, "0"), "."))
}

// remarks tells of clock, mains, and the places of a long recording to look at.
func (d *Demodulation) remarks(w io.Writer) {
	lines := d.mains()
	if len(lines)+len(d.PhaseSteps) > 0 || d.skippedSeconds > 0 {
		fmt.Fprintln(w)
	}
	if len(lines) > 0 {
		Wrap(w, "mains  ", strings.Join(lines, ", "))
	}
	for i, s := range d.PhaseSteps {
		Wrap(w, "steps  ", fmt.Sprintf("the phase at %s jumps by %.2g rad at most, at %.2f s (%.2g rad rms from segment to segment).",
			Tie(nominal(d.Tones[i].NominalHz)), math.Abs(s.Size), s.AtS, s.RMS))
	}
	if d.skippedSeconds > 0 {
		Wrap(w, "gaps   ", fmt.Sprintf("%.3g s were left out, as they hold samples that are no numbers.", d.skippedSeconds))
	}
}

// mains lists the stronger lines: those within 40 dB of the strongest, and above
// what any converter would drown in noise.
func (d *Demodulation) mains() []string {
	const within, least = 0.01, 1e-6
	strongest := 0.0
	for _, l := range d.Lines {
		strongest = max(strongest, slices.Max(l.Amplitude))
	}
	var lines []string
	for _, l := range d.Lines {
		if worst := slices.Max(l.Amplitude); worst > max(within*strongest, least) {
			lines = append(lines, Tie(fixed(l.FreqHz, 2)+" Hz "+dbfs(worst)))
		}
	}
	return lines
}
