package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/parts"
)

// demodulateFlags is what the command demodulate can be told.
type demodulateFlags struct {
	at        frequencies
	recording string
	mains     mains
	json      bool
}

func newDemodulate(a *app) *cobra.Command {
	f := demodulateFlags{at: frequencies{requests: []parts.FrequencyRequest{{All: true}}, text: "all"}}
	cmd := &cobra.Command{
		Use:   "demodulate --recording FILE",
		Short: "Find the tones in any WAV file: amplitude, phase, noise, hum",
		Long: `Demodulate finds the tones of a recording, with amplitude and phase in each
channel, harmonics, mains lines, noise and offset, and what a person must know
about the recording. It needs no jig. One channel is enough.

Amplitudes are relative to digital full scale, peak; phases are those of a
cosine in the middle of what was used, for people relative to the first channel
that has the tone.

A recording too long for memory is followed through to its end in constant
memory: its tones are those of its beginning or of --at, and harmonics and mains
lines are not told apart from noise.

JSON: {"schema": "wheatear.demodulate/1", "file", "rate_hz", "frames",
"used_s": [from, to], "tones": [{"frequency_nominal_hz", "frequency_hz",
"channels": [{"channel", "detected", "in_phase", "quadrature", "amplitude",
"phase_rad", "harmonics": [{"order", "ratio"}]}]}], "clock_ppm", "mains_hz",
"mains": [{"order", "frequency_hz", "amplitude": [...]}], "channels":
[{"channel", "peak", "noise_rms", "offset"}], "findings": [...]}. Quantities and
findings are as those of measure.`,
		Example: "  wheatear demodulate --recording part.wav",
		Args:    noArgs,
		RunE:    func(*cobra.Command, []string) error { return a.demodulate(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.recording, "recording", "", "WAV `FILE`; - for standard input")
	flags.Var(&f.at, "at", "frequencies: 1k  100,1k,10k  ~1k  20..20k/31  all")
	flags.Var(&f.mains, "mains", "mains frequency, 50 or 60 (default both)")
	flags.BoolVar(&f.json, "json", false, "print the result as JSON")
	return cmd
}

func (a *app) demodulate(f demodulateFlags) error {
	if f.recording == "" {
		return usagef("which recording? Add --recording FILE, or --recording - for standard input")
	}
	in, name, err := a.open(f.recording)
	if err != nil {
		return err
	}
	defer in.Close()
	s, err := a.newStream(in, name)
	if err != nil {
		return err
	}
	freqs, err := s.tones(f.at, f.mains.hz)
	if err != nil {
		return err
	}
	d, err := s.demodulate(freqs, f.mains.hz)
	if err != nil {
		return err
	}
	if finding.Worst(d.Findings) == finding.Invalid {
		a.status.join(Untrusted)
	}
	return a.show(d, tell.Demodulation(d), f.json, false)
}

// demodulate analyses what is held, or follows what is longer.
func (s *stream) demodulate(freqsHz []float64, mainsHz float64) (*result.Demodulation, error) {
	if s.ended {
		analysis, err := s.analyse(freqsHz, mainsHz)
		if err != nil {
			return nil, err
		}
		return result.Analysed(s.name, analysis)
	}
	if len(freqsHz) == 0 {
		return nil, fmt.Errorf("%s: no tone in the first %.3g s; name it with --at", s.name, s.headSeconds())
	}
	track, err := s.track(freqsHz)
	if err != nil {
		return nil, err
	}
	return result.Tracked(s.name, track)
}

// headSeconds is how much has been listened to for tones.
func (s *stream) headSeconds() float64 {
	return float64(min(headSamples/s.format.Channels, len(s.head[0]))) / s.format.RateHz
}
