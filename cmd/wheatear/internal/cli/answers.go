package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/wiring"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// answers are what setup was told. Each is in the words of a jig file.
type answers struct {
	name          string
	backend       string
	input, output string
	channels      [2]string
	inputs        [2]int
	reference     string
	tolerance     string
	mains         int
	level         *fixture.Level
	tray          string
	inputOhm      string // as measured, or as told; empty where it is not known
}

// simulated is the name by which the simulated card is chosen.
const simulated = "simulated"

// answers asks for what no flag has told.
func (a *app) answers(f setupFlags) (*answers, error) {
	s := &answers{name: f.name, output: f.output, level: f.level.level, tray: f.tray, inputs: [2]int{1, 2}}
	questions := []struct {
		flag  string
		value string
		ask   func() (question string) // "" where it need not be asked
		set   func(text string) error
	}{
		{"--input NAME", f.input, a.deviceQuestion, func(t string) error { return a.setDevice(s, t) }},
		{"--output NAME", "", func() string { return a.outputQuestion(s) }, func(t string) error { return a.setOutput(s, t) }},
		{"--channels WHAT", f.channels, a.channelsQuestion, s.setChannels},
		{"--inputs WHICH", orDefault(f.inputs, "1,2"), nil, s.setInputs},
		{"--reference OHM", f.reference, func() string {
			return "The reference resistor, value and tolerance, such as 1k/0.1% or 4k7/1%:"
		}, s.setReference},
		{"--mains HZ", f.mains, func() string { return "Mains frequency, 50 or 60? [looks for both]" }, s.setMains},
	}
	for _, q := range questions {
		if q.value != "" {
			if err := q.set(q.value); err != nil {
				return nil, usagef("%s: %s", strings.Fields(q.flag)[0], plain(err))
			}
			continue
		}
		if question := q.ask(); question != "" {
			if err := a.choose(question, q.set); err != nil {
				return nil, setupUnanswered(err, q.flag)
			}
		}
	}
	return s, nil
}

// choice remembers the list that was shown, for the answer that is a number.
type choice struct {
	devices []portaudio.Device
	pair    *live.Pair
}

func (a *app) outputQuestion(s *answers) string {
	if !a.needsOutput(s) {
		return ""
	}
	return "That one cannot play. Which device plays? Its clock is another one, which is corrected. A number, or part of its name:"
}

func (a *app) deviceQuestion() string {
	devices := a.devicesForSetup()
	a.choice = choice{devices, live.Serving(devices)}
	for i, d := range devices {
		text.Wrap(a.talk, fmt.Sprintf("  %2d  ", i+1), fmt.Sprintf("%s (%d in, %d out)", d.FullName(), d.Inputs, d.Outputs))
	}
	text.Wrap(a.talk, "   0  ", "simulated: a card with a jig that needs no hardware")
	def := simulated
	if p := a.choice.pair; p != nil {
		def = p.Input.FullName()
		a.say("%s would serve: %s.", def, p.Why)
	}
	return fmt.Sprintf("Which device? A number, or part of its name [%s]:", def)
}

// setDevice takes a name, part of one, or a number of the list just shown.
func (a *app) setDevice(s *answers, text string) error {
	if text == "" && a.choice.pair != nil {
		p := a.choice.pair
		s.backend, s.input = live.PortAudio, p.Input.FullName()
		if s.output == "" && p.Output.Number != p.Input.Number {
			s.output = p.Output.FullName()
		}
		return nil
	}
	if text == "" || text == "0" || strings.EqualFold(text, simulated) {
		s.backend = live.Virtual
		return nil
	}
	s.backend, s.input = live.PortAudio, text
	if a.choice.devices == nil {
		return nil // whether it is there is found when it is opened
	}
	d, err := a.choice.find(text)
	s.input = d.FullName()
	return err
}

// find finds a device that can record both voltages by its place in the list, or
// by its name.
func (c choice) find(text string) (portaudio.Device, error) {
	if n, err := strconv.Atoi(text); err == nil {
		if n < 0 || n > len(c.devices) {
			return portaudio.Device{}, fmt.Errorf("%d: the list goes from 0 to %d", n, len(c.devices))
		}
		text = c.devices[n-1].FullName()
	}
	d, err := portaudio.Choose(c.devices, text, portaudio.Input)
	if err == nil && d.Inputs < 2 {
		err = fmt.Errorf("%q has one input; two are needed, on one converter", d.Name)
	}
	return d, err
}

// needsOutput reports whether the chosen device cannot play.
func (a *app) needsOutput(s *answers) bool {
	if s.backend != live.PortAudio || s.output != "" || a.choice.devices == nil {
		return false
	}
	d, err := portaudio.Choose(a.choice.devices, s.input, portaudio.Input)
	return err == nil && d.Outputs == 0
}

// setOutput takes a name, part of one, or a number of the list.
func (a *app) setOutput(s *answers, text string) error {
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= len(a.choice.devices) {
		text = a.choice.devices[n-1].FullName()
	}
	d, err := portaudio.Choose(a.choice.devices, text, portaudio.Output)
	s.output = d.FullName()
	return err
}

// channelsQuestion shows the wirings.
func (a *app) channelsQuestion() string {
	a.say("What the two inputs carry (wheatear help wiring draws them):")
	for i, w := range wiring.All() {
		text.Wrap(a.talk, fmt.Sprintf("  %2d  ", i+1), fmt.Sprintf("%s,%s: %s. %s", w.First, w.Second, strings.ToLower(w.Title), firstSentence(w.Use)))
	}
	return "Which? A number, or two of total, part, reference, with a minus for an inverted one [total,part]:"
}

func firstSentence(text string) string {
	first, _, _ := strings.Cut(text, ". ")
	first, _, _ = strings.Cut(first, ": ")
	return strings.TrimSuffix(first, ".") + "."
}

func (s *answers) setChannels(text string) error {
	all := wiring.All()
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= len(all) {
		s.channels = [2]string{all[n-1].First.String(), all[n-1].Second.String()}
		return nil
	}
	first, second, ok := strings.Cut(orDefault(text, "total,part"), ",")
	if !ok {
		return fmt.Errorf("%q: two names with a comma between them, such as total,part", text)
	}
	s.channels = [2]string{strings.TrimSpace(first), strings.TrimSpace(second)}
	_, err := fixture.ParseJig("", fmt.Appendf(nil, "channels = [%q, %q]\nreference = \"1k\"\n", s.channels[0], s.channels[1]))
	return inner(err)
}

// inner drops file and line from an error about a jig file that nobody has seen.
func inner(err error) error {
	var f *fixture.FileError
	if errors.As(err, &f) {
		return f.Err
	}
	return err
}

func (s *answers) setInputs(text string) error {
	first, second, _ := strings.Cut(text, ",")
	for i, t := range []string{first, second} {
		n, err := strconv.Atoi(strings.TrimSpace(t))
		if err != nil || n < 1 {
			return fmt.Errorf("%q: two numbers counted from 1, such as 1,2", text)
		}
		s.inputs[i] = n
	}
	if s.inputs[0] == s.inputs[1] {
		return fmt.Errorf("%q: the two inputs must differ", text)
	}
	return nil
}

func (s *answers) setReference(text string) error {
	value, tolerance, given := cutTolerance(text)
	if _, err := parts.ParsePositive(value, parts.Ohm); err != nil {
		return err
	}
	s.reference, s.tolerance = strings.TrimSpace(value), ""
	if given {
		s.tolerance = strings.TrimSpace(tolerance)
		_, err := parts.ParseTolerance(tolerance)
		return err
	}
	return nil
}

func (s *answers) setMains(text string) error {
	switch strings.ToLower(strings.TrimSpace(strings.TrimSuffix(strings.ToLower(text), "hz"))) {
	case "50":
		s.mains = 50
	case "60":
		s.mains = 60
	case "", "both":
		s.mains = 0
	default:
		return fmt.Errorf("%q: 50, 60, or nothing to look for both", text)
	}
	return nil
}

// levelDB is the level that is wanted, in dBFS.
func (s *answers) levelDB() float64 {
	if s.level != nil && !s.level.Volts {
		return s.level.Value
	}
	return defaultLevelDB
}

// defaultLevelDB is that of jig files.
const defaultLevelDB = -12

// jig makes a jig of the answers, by the parser that will read the file.
func (s *answers) jig(file string) (*fixture.Jig, error) {
	var b strings.Builder
	line := func(key string, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s = %q\n", key, value)
		}
	}
	line("name", orDefault(s.name, strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))))
	fmt.Fprintf(&b, "channels = [%q, %q]\ninputs = [%d, %d]\n", s.channels[0], s.channels[1], s.inputs[0], s.inputs[1])
	line("reference", s.reference)
	line("reference_tolerance", s.tolerance)
	line("input_resistance", s.inputOhm)
	if s.mains != 0 {
		fmt.Fprintf(&b, "mains = %d\n", s.mains)
	}
	b.WriteString("[card]\n")
	line("backend", s.backend)
	line("input", s.input)
	line("output", s.output)
	if s.level != nil {
		unit := "dBFS"
		if s.level.Volts {
			unit = "V"
		}
		fmt.Fprintf(&b, "level = \"%g%s\"\n", s.level.Value, unit)
	}
	if s.tray != "" {
		b.WriteString("[virtual]\n")
		line("tray", s.tray)
	}
	jig, err := fixture.ParseJig(file, []byte(b.String()))
	if err != nil {
		return nil, fmt.Errorf("these answers make no jig: %s", plain(inner(err)))
	}
	return jig, nil
}
