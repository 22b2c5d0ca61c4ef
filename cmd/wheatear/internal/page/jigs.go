package page

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/demo"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// simulatedKey names the jig that needs no hardware. It is always there.
const simulatedKey = "simulated"

// jigEntry is a jig that can be chosen.
type jigEntry struct {
	Key       string `json:"key"`
	Name      string `json:"name"`
	About     string `json:"about"`
	Simulated bool   `json:"simulated"`

	file string // the jig file
	dir  string // what is kept of work with it
}

// desk is the jig in use with all that belongs to it.
type desk struct {
	*jigEntry
	text []byte // of the jig file
	jig  *fixture.Jig
	cal  *fixture.Calibration // nil for none

	card   *virtual.Card // of a simulated jig; nil for a real one
	config virtual.Config
	faults map[string]bool

	steps       *guide // the calibration under way; nil for none
	sweep       *sweepRun
	readings    []*Kept
	tasks       map[string]*Task // the last of each kind
	sorting     *lot             // that of the page; nil for none
	lotVersions int              // of lots opened so far
}

// ErrNoJig says that no jig has been chosen.
var ErrNoJig = errors.New("page: no jig is chosen yet")

// findJigs lists the simulated jig and the one named on the command line.
func (b *Bench) findJigs() ([]*jigEntry, error) {
	simulated := &jigEntry{
		Key: simulatedKey, Name: "Simulated jig", Simulated: true, dir: filepath.Join(b.opts.Folder, simulatedKey),
		About: "A jig with the faults of a real one and a tray of parts, computed: no sound card is used and no sound is made. The place to begin.",
	}
	simulated.file = filepath.Join(simulated.dir, "jig.toml")
	if err := b.writeSimulated(simulated); err != nil {
		return nil, err
	}
	list := []*jigEntry{simulated}
	if b.opts.JigFile == "" {
		return list, nil
	}
	file, err := filepath.Abs(b.opts.JigFile)
	if err != nil {
		return nil, err
	}
	jig, err := readJig(file)
	if err != nil {
		return nil, err
	}
	e := &jigEntry{Key: "jig-" + slug(jig.Name), Name: jig.Name, file: file, Simulated: jig.Card.Backend == live.Virtual, About: aboutJig(jig)}
	e.dir = filepath.Join(b.opts.Folder, e.Key)
	return append([]*jigEntry{e}, list...), nil
}

// writeSimulated puts jig file and tray of the simulated jig into its folder, where
// they are not there; whoever has changed them keeps them.
func (b *Bench) writeSimulated(e *jigEntry) error {
	if err := os.MkdirAll(e.dir, 0o700); err != nil {
		return err
	}
	for name, text := range map[string][]byte{"jig.toml": demo.Jig, "tray.toml": demo.Tray} {
		f, err := os.OpenFile(filepath.Join(e.dir, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if errors.Is(err, os.ErrExist) {
			continue
		}
		if err != nil {
			return err
		}
		_, err = f.Write(text)
		if err = errors.Join(err, f.Close()); err != nil {
			return err
		}
	}
	return nil
}

func readJig(file string) (*fixture.Jig, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	jig, err := fixture.ParseJig(file, text)
	if err == nil && jig.Name == file {
		jig.Name = strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	}
	return jig, err
}

// aboutJig says in a line what a jig is.
func aboutJig(jig *fixture.Jig) string {
	card := jig.Card.Input
	if jig.Card.Backend == live.Virtual {
		card = "simulated"
	}
	if card == "" {
		card = "the system's default card"
	}
	return fmt.Sprintf("Reference %s, inputs carry %s and %s, card: %s.",
		parts.Words(jig.ReferenceOhm, parts.Ohm), jig.Channels[0], jig.Channels[1], card)
}

// slug keeps what is plain in a name.
func slug(name string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, name)
}

// entry finds a jig by its key; nil where there is none.
func (b *Bench) entry(key string) *jigEntry {
	for _, e := range b.jigs {
		if e.Key == key {
			return e
		}
	}
	return nil
}

// ChooseJig takes another jig into use. The card must be free.
func (b *Bench) ChooseJig(key string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	e := b.entry(key)
	if e == nil {
		return notFound("there is no jig %q", key)
	}
	if b.active != nil {
		return b.busy()
	}
	d, err := b.openDesk(e)
	if err != nil {
		return err
	}
	b.desk, b.saved.Jig, b.live.last = d, key, nil
	b.live.trend.clear()
	defer b.changed()
	return b.save()
}
