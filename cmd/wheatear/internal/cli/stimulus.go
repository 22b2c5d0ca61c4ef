package cli

import (
	"io"

	"example.org/wheatear/audio/wave"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
	"github.com/spf13/cobra"
)

// stimulusFlags is what the command stimulus can be told.
type stimulusFlags struct {
	at       frequencies
	rate     quantity
	seconds  quantity
	lead     quantity
	fade     quantity
	level    level
	mains    mains
	bits     width
	channels int
	out      string
	json     bool
}

func newStimulus(a *app) *cobra.Command {
	f := stimulusFlags{
		rate:    quantity{48000, parts.Hertz, "HZ"},
		seconds: quantity{5, parts.Second, "S"},
		lead:    quantity{0, parts.Second, "S"},
		fade:    quantity{20e-3, parts.Second, "S"},
		level:   level{-12},
		bits:    width{bits: 24},
	}
	cmd := &cobra.Command{
		Use:   "stimulus --at LIST --out FILE",
		Short: "Write the tones to be played, as a WAV file",
		Long: `Stimulus plans tones and writes them as a WAV file, to be played while both
inputs are recorded. Tones written as ~1k, and those of a range, may be moved by
up to 5 % to where neither mains nor each other's harmonics disturb them; what
became of them is told on standard error. The level is that of the highest peak
of all tones together; 0dBFS just reaches full scale.

Where a tone is on one of the first 16 multiples of the mains, the sign of all
tones turns midway, down to zero and up again in 40 ms: hum keeps its sign, and
a reading separates the two. Recordings of such a file are recognised by
themselves.

--out - writes to standard output. --json prints the plan; without --out it is
only planned.

JSON: {"schema": "wheatear.stimulus/1", "rate_hz", "frames", "seconds",
"period_frames" (null where the tones have none in common), "peak_dbfs",
"crest_factor", "turn_s" (null where no sign turns), "tones": [{"requested_hz",
"frequency_hz", "amplitude_dbfs", "phase_rad", "on_mains", "on_harmonic"}]}.
Phases are those of a cosine at the first sample after the lead.`,
		Example: "  wheatear stimulus --at 1k,10k --seconds 2 --out tone.wav",
		Args:    noArgs,
		RunE:    func(*cobra.Command, []string) error { return a.stimulus(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.Var(&f.at, "at", "frequencies: 1k  ~1k  100,1k,10k  20..20k/31")
	flags.StringVar(&f.out, "out", "", "WAV `FILE` to write; - for standard output")
	flags.Var(&f.rate, "rate", "samples per second")
	flags.Var(&f.seconds, "seconds", "length of the whole")
	flags.Var(&f.level, "level", "level of the highest peak")
	flags.Var(&f.bits, "bits", "samples of 16, 24 or 32 bits, or float")
	flags.IntVar(&f.channels, "channels", 1, "`NUMBER` of channels, all alike")
	flags.Var(&f.lead, "lead", "silence before the tones (default none)")
	flags.Var(&f.fade, "fade", "fade at either end")
	flags.Var(&f.mains, "mains", "mains to keep clear of, 50 or 60 (default both)")
	flags.BoolVar(&f.json, "json", false, "print the plan as JSON")
	return cmd
}

func (a *app) stimulus(f stimulusFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	plan, err := stimulus.PlanTones(f.config(), toneRequests(f.at.requests))
	if err != nil {
		return err
	}
	if err := a.writeStimulus(f, plan); err != nil {
		return err
	}
	doc := result.NewStimulus(plan)
	if err := a.tellTones(doc); err != nil {
		return err
	}
	if f.out != "" && f.out != "-" {
		a.say("Written to %s.", f.out)
	}
	if f.json {
		return result.Write(a.out, doc)
	}
	return nil
}

// tellTones tells a person which tones there will be.
func (a *app) tellTones(doc *result.Stimulus) error {
	return text.Write(a.talk, tell.Stimulus(doc), text.Look{})
}

func (f *stimulusFlags) check() error {
	switch {
	case len(f.at.requests) == 0:
		return usagef("which tones? Add --at, such as --at 1k")
	case f.at.all():
		return usagef("--at all needs a recording to find tones in; name the tones to be written")
	case f.out == "" && !f.json:
		return usagef("where to? Add --out FILE, or --out - for standard output, or --json to see the plan alone")
	case f.out == "-" && f.json:
		return usagef("--out - and --json would both write to standard output; leave one out")
	case f.channels < 1 || f.channels > 64:
		return usagef("--channels %d: from 1 to 64 are possible", f.channels)
	}
	return nil
}

func (f *stimulusFlags) config() stimulus.Config {
	return stimulus.Config{
		RateHz: f.rate.value, Seconds: f.seconds.value, LeadS: f.lead.value, FadeS: f.fade.value,
		Peak: f.level.peak(), MainsHz: f.mains.hz,
	}
}

func toneRequests(requests []parts.FrequencyRequest) []stimulus.ToneRequest {
	var tones []stimulus.ToneRequest
	for _, r := range requests {
		tones = append(tones, stimulus.ToneRequest{FreqHz: r.FreqHz, Movable: r.Movable})
	}
	return tones
}

// writeStimulus plays the plan into a file, if one is wanted.
func (a *app) writeStimulus(f stimulusFlags, plan *stimulus.Plan) error {
	play := func(w io.Writer) error { return a.playInto(w, f, plan) }
	switch f.out {
	case "":
		return nil
	case "-":
		return play(a.out)
	}
	return writeFile(f.out, play)
}

func (a *app) playInto(w io.Writer, f stimulusFlags, plan *stimulus.Plan) error {
	out, err := wave.NewWriter(w, wave.Format{
		RateHz: f.rate.value, Channels: f.channels, Bits: f.bits.bits, Float: f.bits.float, Frames: int64(plan.Frames()),
	})
	if err != nil {
		return err
	}
	tones := plan.Stimulus()
	mono := make([]float64, 4096)
	frames := make([]float64, 0, len(mono)*f.channels)
	for a.ctx.Err() == nil {
		n := tones.Read(mono)
		if n == 0 {
			return out.Close()
		}
		frames = spread(frames[:0], mono[:n], f.channels)
		if err := out.Write(frames); err != nil {
			return err
		}
	}
	return a.ctx.Err()
}

// spread repeats every sample in each channel.
func spread(dst, mono []float64, channels int) []float64 {
	for _, v := range mono {
		for range channels {
			dst = append(dst, v)
		}
	}
	return dst
}
