package cli

import (
	"fmt"
	"hash/fnv"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/wiring"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// liveFlags are those of every command that plays and records itself.
type liveFlags struct {
	keep  string
	level playLevel
}

func (f *liveFlags) add(flags *pflag.FlagSet) {
	flags.StringVar(&f.keep, "keep", "", "live: keep every recording in directory `DIR`")
	flags.Var(&f.level, "level", "live: level of the highest peak, such as -20dBFS (default that of the jig file)")
}

// given reports whether anything was said that only live work understands.
func (f *liveFlags) given() bool { return f.keep != "" || f.level.level != nil }

// playLevel is a flag for the level that is played; nil for that of the jig file.
type playLevel struct{ level *fixture.Level }

func (l *playLevel) Set(text string) error {
	if strings.HasSuffix(strings.ToLower(strings.TrimSpace(text)), "v") {
		v, err := parts.ParsePositive(text, parts.Volt)
		l.level = &fixture.Level{Value: v, Volts: true}
		return err
	}
	var db level
	if err := db.Set(text); err != nil {
		return err
	}
	l.level = &fixture.Level{Value: db.db}
	return nil
}

func (l *playLevel) String() string { return "" }
func (l *playLevel) Type() string   { return "LEVEL" }

// share is a flag for a relative uncertainty, such as 0.1%.
type share struct{ value float64 }

func (s *share) Set(text string) error {
	v, err := parts.ParseTolerance(text)
	if err == nil && v == 0 {
		return fmt.Errorf("%q: no finite record reaches that; write it as 0.1%%", text)
	}
	s.value = v
	return err
}

func (s *share) String() string { return "" }
func (s *share) Type() string   { return "SHARE" }

// work is what a live command has in hand.
type work struct {
	*live.Session
	folder *live.Folder
	jig    *fixture.Jig
}

// openSession opens the card of a jig file. what tells one use of the simulated
// card from another, so that no two share their noise.
func (a *app) openSession(jigFile string, jig *fixture.Jig, f liveFlags, what string) (*work, error) {
	w := &work{jig: jig}
	if f.keep != "" {
		text, err := os.ReadFile(jigFile)
		if err != nil {
			return nil, err
		}
		if w.folder, err = live.OpenFolder(f.keep, text); err != nil {
			return nil, err
		}
	}
	seed := fnv.New64a()
	fmt.Fprint(seed, jig.Name, "\x00", what)
	session, err := a.openCard(a.ctx, live.Options{
		Jig: jig, Dir: filepath.Dir(jigFile), Level: f.level.level, Seed: seed.Sum64(), Folder: w.folder,
		Tell:     func(text string) { a.say("%s", text) },
		Progress: a.recording,
	})
	if err != nil {
		return nil, err
	}
	w.Session, a.card = session, session.Card()
	if err := a.caution(w); err != nil {
		a.closeSession(w)
		return nil, err
	}
	return w, nil
}

// closeSession gives the card back; a card that cannot be closed is worth a word,
// except to who has ended the program.
func (a *app) closeSession(w *work) {
	a.progress.clear()
	if err := w.Close(); err != nil && a.ctx.Err() == nil {
		a.say("wheatear: %s", plain(err))
	}
}

// recording shows how far a record is.
func (a *app) recording(seconds, of float64) {
	a.progress.show(fmt.Sprintf("recording  %.1f of %.1f s", seconds, of))
}

// cautionsFile remembers that the cautions have been shown.
const cautionsFile = "wheatear/cautions-shown"

// caution shows the cautions before the first use of a real card. A person on a
// terminal is asked to confirm; where nobody sits, they are shown and that is all.
func (a *app) caution(w *work) error {
	if w.Simulated() {
		return nil
	}
	dir, err := os.UserConfigDir()
	marker := filepath.Join(dir, cautionsFile)
	if _, missing := os.Stat(marker); err == nil && missing == nil {
		return nil
	}
	_ = wiring.First.Write(a.talk)
	if isTerminal(a.in) {
		if _, err := a.ask("Press Enter when all of this is so, ctrl-C to leave."); err != nil {
			return err
		}
	}
	a.remember(marker)
	return nil
}

// remember makes a file; where that cannot be, the cautions are shown again.
func (a *app) remember(marker string) {
	if os.MkdirAll(filepath.Dir(marker), 0o777) == nil {
		_ = os.WriteFile(marker, []byte(a.now().Format(time.RFC3339)+"\n"), 0o666)
	}
}

// liveTones are the tones of --at for a live command: as asked for, but for those
// that may be moved: to one that is calibrated, or else to where the plan has them.
func liveTones(at frequencies, cal *fixture.Calibration) ([]stimulus.ToneRequest, error) {
	if at.all() && cal == nil {
		return nil, usagef("--at all stands for the tones of a recording or of a calibration; name the frequencies")
	}
	if at.all() {
		var tones []stimulus.ToneRequest
		for _, f := range cal.Frequencies() {
			tones = append(tones, stimulus.ToneRequest{FreqHz: f})
		}
		return tones, nil
	}
	tones := toneRequests(at.requests)
	if cal == nil {
		return tones, nil
	}
	for i, t := range tones {
		if c, ok := nearest(cal.Frequencies(), t.FreqHz, maxMove); t.Movable && ok {
			tones[i] = stimulus.ToneRequest{FreqHz: c}
		}
	}
	return distinct(tones), nil
}

// distinct drops what calibrated frequencies have made equal.
func distinct(tones []stimulus.ToneRequest) []stimulus.ToneRequest {
	var out []stimulus.ToneRequest
	seen := map[float64]bool{}
	for _, t := range tones {
		if !seen[t.FreqHz] {
			seen[t.FreqHz] = true
			out = append(out, t)
		}
	}
	return out
}
