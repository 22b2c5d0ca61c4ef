package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/cmd/wheatear/internal/wiring"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// setupFlags are the answers that can be given beforehand.
type setupFlags struct {
	read      bool // the cautions
	input     string
	output    string
	channels  string
	inputs    string
	reference string
	mains     string
	name      string
	level     playLevel
	tray      string
	levels    string
	load      string
	out       string
	overwrite bool
	json      bool

	given func(flag string) bool
}

func newSetup(a *app) *cobra.Command {
	var f setupFlags
	cmd := &cobra.Command{
		Use:   "setup",
		Short: "Choose card and wiring, try the levels, write the jig file",
		Long: `Setup asks for the sound card, what its two inputs carry, the reference resistor
and the mains; then it plays a quiet tone, shows what the inputs hear, says what
to turn, and writes the jig file. An older file is never overwritten unasked.

Every answer can be given as a flag, and is not asked for then, or piped in, a
line each. An empty answer takes what stands in brackets. The device "simulated"
is a card with a jig that needs no hardware.

Exit status 3 where the levels show that something is wrong with the wiring; the
file is written all the same.

JSON: {"schema": "wheatear.setup/1", "file", "jig", "level_dbfs", "inputs":
[{"input", "carries", "quiet_dbfs", "expected_dbfs", "noise_dbfs"}] (empty where
nothing was played), "advice", "findings": [...]}.`,
		Example: `  wheatear setup --cautions-read --input simulated --channels total,part \
      --reference 1k/0.1% --mains 50 --levels yes --out simulated.toml`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f.given = cmd.Flags().Changed
			return a.setup(f)
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.BoolVar(&f.read, "cautions-read", false, "the cautions have been read; do not wait")
	flags.StringVar(&f.input, "input", "", "`NAME` of the device that records, or simulated")
	flags.StringVar(&f.output, "output", "", "`NAME` of the device that plays, if another")
	flags.StringVar(&f.channels, "channels", "", "`WHAT` the two inputs carry, such as total,part")
	flags.StringVar(&f.inputs, "inputs", "", "`WHICH` inputs of the device these are (default 1,2)")
	flags.StringVar(&f.reference, "reference", "", "`OHM` and tolerance of the reference, such as 1k/0.1%")
	flags.StringVar(&f.mains, "mains", "", "mains frequency: 50, 60, or both `HZ`")
	flags.StringVar(&f.name, "name", "", "`NAME` of the jig (default that of the file)")
	flags.Var(&f.level, "level", "level of measurements, such as -12dBFS (the default)")
	flags.StringVar(&f.tray, "tray", "", "`FILE` with the parts of the simulated jig")
	flags.StringVar(&f.levels, "levels", "", "`YES` or no: play a quiet tone and look at the levels")
	flags.StringVar(&f.load, "load", "", "`VALUE/TOLERANCE` of a known resistor that is put in after the open: measures the resistance of the inputs")
	flags.StringVar(&f.out, "out", "", "jig `FILE` to write (default jig.toml)")
	flags.BoolVar(&f.overwrite, "overwrite", false, "the file may be there already")
	flags.BoolVar(&f.json, "json", false, "print the outcome as JSON")
	return cmd
}

func (a *app) setup(f setupFlags) error {
	if f.levels != "" && f.levels != "yes" && f.levels != "no" {
		return usagef("--levels %s: yes or no", f.levels)
	}
	io.WriteString(a.talk, wiring.Cautions()+"\n")
	if !f.read {
		if _, err := a.ask("Press Enter when all of this is so, ctrl-C to leave."); err != nil {
			return setupUnanswered(err, "--cautions-read")
		}
	}
	answers, err := a.answers(f)
	if err != nil {
		return err
	}
	file, err := a.jigFileName(f)
	if err != nil {
		return err
	}
	jig, err := answers.jig(file)
	if err != nil {
		return err
	}
	levels, err := a.tryLevels(f, answers, jig, file)
	if err != nil {
		return err
	}
	return a.concludeSetup(f, answers, file, levels)
}

// setupUnanswered names the flag that would have been the answer.
func setupUnanswered(err error, flag string) error {
	if !errors.Is(err, live.ErrUnanswered) {
		return err
	}
	return fmt.Errorf("%w; %s answers it", err, flag)
}

// jigFileName settles where to write, and that nothing is lost by it.
func (a *app) jigFileName(f setupFlags) (string, error) {
	file := f.out
	if file == "" {
		text, err := a.ask("Write the jig file to? [jig.toml]")
		if err != nil {
			return "", setupUnanswered(err, "--out FILE")
		}
		file = orDefault(text, "jig.toml")
	}
	if _, err := os.Stat(file); f.overwrite || errors.Is(err, os.ErrNotExist) {
		return file, nil
	}
	text, err := a.ask(file + " is there already. Overwrite it? [no]")
	if err != nil {
		return "", setupUnanswered(err, "--overwrite")
	}
	if !yes(text, false) {
		return "", fmt.Errorf("%s was left as it is; give another name with --out", file)
	}
	return file, nil
}

func orDefault(text, def string) string {
	if text == "" {
		return def
	}
	return text
}

// yes understands yes and no; empty means def.
func yes(text string, def bool) bool {
	text = strings.ToLower(text)
	return text == "" && def || text == "y" || text == "yes"
}

// tryLevels plays quietly, if that is wanted; nil where it is not.
func (a *app) tryLevels(f setupFlags, s *answers, jig *fixture.Jig, file string) (*live.Levels, error) {
	if f.levels == "no" {
		return nil, nil
	}
	if f.levels == "" {
		text, err := a.ask("Leave the terminals open; a quiet tone of one second (-40 dBFS) will show the levels. Play it? [yes]")
		if err != nil {
			return nil, setupUnanswered(err, "--levels yes (or no)")
		}
		if !yes(text, true) {
			return nil, nil
		}
	}
	session, err := a.openCard(a.ctx, live.Options{
		Jig: jig, Dir: filepath.Dir(file), Tell: func(text string) { a.say("%s", text) }, Progress: a.recording,
	})
	if err != nil {
		return nil, err
	}
	w := &work{Session: session, jig: jig}
	defer a.closeSession(w)
	levels, err := w.Levels(a.ctx)
	if err != nil {
		return nil, err
	}
	a.progress.clear()
	if err := text.Write(a.talk, tell.InputLevels(setupDocument(file, jig, levels)), text.Look{}); err != nil {
		return nil, err
	}
	return levels, a.tryInputs(f, s, w, levels)
}

// knownInput is how well the resistance of an input must be known to be stated in a jig
// file: readings allow for 5 %.
const knownInput = 0.05

// tryInputs measures the resistance of the inputs with a known resistor, if there is one:
// with the simulated jig its load, else the one of --load. It is written into the jig file
// where it is known well enough to be of use.
func (a *app) tryInputs(f setupFlags, s *answers, w *work, levels *live.Levels) error {
	text := f.load
	if text == "" && w.Simulated() {
		text = fmt.Sprintf("%g/%g%%", w.jig.ReferenceOhm, 100*w.jig.ReferenceTolerance)
	}
	if text == "" || finding.Worst(levels.Findings) == finding.Invalid {
		return nil
	}
	load, err := parseLoad(text)
	if err != nil {
		return usagef("--load: %s", plain(err))
	}
	if w.Simulated() {
		err = w.Put("load")
	} else if _, err = a.ask("Connect the known resistor of " + load.String() + " in place of the part, then press Enter."); err != nil {
		err = setupUnanswered(err, "leaving --load out")
	}
	if err != nil {
		return err
	}
	ohm, err := w.InputResistance(a.ctx, levels, load)
	a.progress.clear()
	if err != nil && f.load != "" {
		return err
	}
	if err != nil || !(ohm.U <= knownInput*ohm.Value) {
		return nil
	}
	s.inputOhm = parts.FormatValue(round3(ohm.Value), parts.Ohm)
	a.say("The inputs load with about %s, as ordinary inputs do; the jig file states it.", parts.Words(round3(ohm.Value), parts.Ohm))
	return nil
}

// round3 keeps three digits.
func round3(v float64) float64 {
	scale := math.Pow(10, math.Floor(math.Log10(v))-2)
	return math.Round(v/scale) * scale
}

// concludeSetup writes the file and tells what may still be wrong.
func (a *app) concludeSetup(f setupFlags, s *answers, file string, levels *live.Levels) error {
	if levels != nil {
		if levels.LevelDB < s.levelDB() {
			s.level = &fixture.Level{Value: levels.LevelDB}
		}
		if finding.Worst(levels.Findings) == finding.Invalid {
			a.status.join(Untrusted)
			a.say("This is not as it should be; put it right and run setup again. The file is written all the same.")
		}
	}
	jig, err := s.jig(file)
	if err != nil {
		return err
	}
	const head = "# Written by wheatear setup; wheatear help jig tells what else may stand here.\n\n"
	err = writeFile(file, func(w io.Writer) error {
		_, err := io.Copy(w, io.MultiReader(strings.NewReader(head), bytes.NewReader(jig.Encode())))
		return err
	})
	if err != nil {
		return err
	}
	a.say("Written to %s.", file)
	next := []string{"wheatear", "calibrate", "--at", "~100,~1k,~10k"}
	if !a.rememberBench(jig, file) {
		next = append(next, "--jig", file, "--out", "cal.json")
	}
	a.say("Next, with three standards at hand:")
	writeCommand(a.talk, next)
	a.remind(s)
	doc := setupDocument(file, jig, levels)
	defer a.enter(entered{jig: file}, func(w io.Writer) error { return result.Write(w, doc) })
	if f.json {
		return result.Write(a.out, doc)
	}
	return nil
}

// setupDocument is what setup came to; levels is nil where nothing was played.
func setupDocument(file string, jig *fixture.Jig, levels *live.Levels) *result.Setup {
	doc := &result.Setup{Schema: result.SetupSchema, File: file, Jig: jig.Name, Inputs: []result.SetupInput{}, Findings: []finding.Finding{}}
	if !jig.Card.Level.Volts {
		doc.LevelDBFS = &jig.Card.Level.Value
	}
	if levels == nil {
		return doc
	}
	orNull := func(db float64) *float64 {
		if math.IsInf(db, 0) || math.IsNaN(db) {
			return nil
		}
		return &db
	}
	for i, in := range levels.Inputs {
		doc.Inputs = append(doc.Inputs, result.SetupInput{Input: jig.Inputs[i], Carries: jig.Channels[i].String(),
			QuietDBFS: orNull(in.QuietDB), ExpectedDBFS: orNull(in.ExpectedDB), NoiseDBFS: orNull(in.NoiseDB)})
	}
	doc.Advice, doc.Findings = levels.Advice, append(doc.Findings, levels.Findings...)
	return doc
}

// remind marks the cautions as read: they came first, all of them.
func (a *app) remind(s *answers) {
	if s.backend != live.PortAudio {
		return
	}
	if dir, err := os.UserConfigDir(); err == nil {
		a.remember(filepath.Join(dir, cautionsFile))
	}
}

// devicesForSetup are the sound cards, and none where there is a reason for that.
func (a *app) devicesForSetup() []portaudio.Device {
	list, err := a.listCards(a.ctx, portaudio.Options{})
	if err != nil {
		a.say("No sound card: %s.", plain(err))
	} else if len(list) == 0 {
		a.say("No sound card: %s.", plain(portaudio.ErrNone))
	}
	return list
}
