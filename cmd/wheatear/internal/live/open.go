package live

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/fixture"
)

// The backends, as jig files name them.
const (
	Virtual   = "virtual"
	PortAudio = "portaudio"
)

// ErrNoBackend is wrapped where a jig file does not say what plays and records.
var ErrNoBackend = errors.New("live: the jig file names no card backend")

// Open opens the card that the jig file names. The caller closes the session.
func Open(ctx context.Context, o Options) (*Session, error) {
	switch o.Jig.Card.Backend {
	case Virtual:
		card, parts, err := openVirtual(o)
		if err != nil {
			return nil, err
		}
		s := New(card, o)
		s.parts = parts
		return s, nil
	case PortAudio:
		card, err := portaudio.Open(ctx, portaudio.Options{Input: o.Jig.Card.Input, Output: o.Jig.Card.Output, Quiet: true})
		if err != nil {
			return nil, err
		}
		s := New(card, o)
		s.close = card.Close
		return s, nil
	case "":
		return nil, fmt.Errorf("%w: add [card] with backend = \"portaudio\" (or \"virtual\", a simulated one), "+
			"let wheatear setup write the file, or name recordings", ErrNoBackend)
	}
	return nil, fmt.Errorf("live: card backend %q: there are %q and %q", o.Jig.Card.Backend, PortAudio, Virtual)
}

// openVirtual makes the simulated card.
func openVirtual(o Options) (card *virtual.Card, parts []string, err error) {
	cfg, err := SimulatedJig(o.Jig, o.Dir, o.Seed)
	if err != nil {
		return nil, nil, err
	}
	if o.Spoil != nil {
		o.Spoil(&cfg)
	}
	for _, p := range cfg.Tray.Parts {
		parts = append(parts, p.Name)
	}
	card, err = virtual.New(cfg)
	return card, parts, err
}

// SimulatedJig says what the simulated card of a jig file is. What the tray's file
// does not say of jig and faults is that of a jig on a kitchen table and of an
// ordinary card, wired as the jig file has it. dir is where a relative name of the
// tray begins.
func SimulatedJig(jig *fixture.Jig, dir string, seed uint64) (virtual.Config, error) {
	tray, err := readTray(jig.Virtual.Tray, dir)
	if err != nil {
		return virtual.Config{}, err
	}
	cfg := Simulated(tray, seed)
	if tray.Jig == nil {
		err = wire(&cfg.Jig, jig)
	}
	return cfg, err
}

// wire makes the simulated jig one that the jig file describes.
func wire(simulated *virtual.Jig, jig *fixture.Jig) error {
	simulated.ReferenceOhm = jig.ReferenceOhm
	for i, c := range jig.Channels {
		input := jig.Inputs[i]
		if input > len(simulated.Channels) {
			return fmt.Errorf("live: input %d of the simulated card; it has 1 and 2", input)
		}
		simulated.Channels[input-1] = c.String()
		if jig.FullScaleVolt != nil {
			simulated.FullScaleVolts[input-1] = jig.FullScaleVolt[i]
		}
	}
	return nil
}

// Simulated says what the simulated jig of a tray is: where its file is silent, a jig
// on a kitchen table and the same ordinary card in every session.
func Simulated(tray *virtual.Tray, seed uint64) virtual.Config {
	const cardSeed = 1
	cfg := virtual.Config{Jig: virtual.TypicalJig(), Faults: virtual.TypicalFaults(cardSeed), Tray: tray, Seed: seed}
	if tray.Jig != nil {
		cfg.Jig = *tray.Jig
	}
	if tray.Faults != nil {
		cfg.Faults = *tray.Faults
	}
	return cfg
}

// readTray reads the file with the parts; without one there are the standards.
//
//go:embed parts.toml
var drawer []byte

func readTray(name, dir string) (*virtual.Tray, error) {
	if name == "" {
		return virtual.ParseTray("the tray of the program", drawer)
	}
	if !filepath.IsAbs(name) {
		name = filepath.Join(dir, name)
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	return virtual.ParseTray(name, data)
}

// nameOf is what calibrations call a card: its family and its name.
func nameOf(card audio.Card) string {
	d := describe(card)
	if d.API == "" {
		return d.Name
	}
	return d.API + ": " + d.Name
}

func describe(card audio.Card) audio.Device {
	if d, ok := card.(audio.Describer); ok {
		return d.Describe()
	}
	return audio.Device{}
}
