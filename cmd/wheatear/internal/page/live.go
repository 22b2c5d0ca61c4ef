package page

import (
	"context"
	"fmt"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/sweep"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/stimulus"
)

// LiveSettings are what a live reading is set to.
type LiveSettings struct {
	At    string `json:"at"`    // frequency, such as ~1k, or auto for the one that suits the part
	Level string `json:"level"` // such as -12dBFS; empty for that of the jig file
	Part  string `json:"part"`  // what is connected, in a person's words
	ReadAs
}

// liveState is what is kept of the live reading.
type liveState struct {
	last  *Update
	n     int64
	trend trend
}

// StartLive begins a live reading, or changes the one under way.
func (b *Bench) StartLive(set LiveSettings, tab string) error {
	if _, err := oneTone(set.At); err != nil && set.At != auto {
		return err
	}
	if _, err := parseLevel(set.Level); err != nil {
		return err
	}
	if _, err := set.question(); err != nil {
		return err
	}
	if err := b.setLive(set); err != nil {
		return err
	}
	b.mu.Lock()
	if a := b.active; a != nil && a.Kind == LiveKind && a.Tab == tab {
		a.What = set.Part
		a.poke(again)
		b.changed()
		b.mu.Unlock()
		return nil
	}
	b.mu.Unlock()
	return b.begin(LiveKind, set.Part, tab, b.runLive)
}

// setLive keeps the settings.
func (b *Bench) setLive(set LiveSettings) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.active != nil && b.active.Kind != LiveKind {
		return b.busy()
	}
	if b.saved.Live != set {
		b.live.trend.clear()
	}
	b.saved.Live = set
	return b.save()
}

// runLive reads until it is stopped, and begins anew when something has changed.
func (b *Bench) runLive(a *activity, d *desk) error {
	for {
		set := b.liveSettings()
		level, err := parseLevel(set.Level)
		if err != nil {
			return err
		}
		s, err := b.session(a, d, level, false)
		if err != nil {
			return err
		}
		asked, err := b.liveStream(a, d, s, set)
		if closed := s.Close(); err == nil {
			err = closed
		}
		if err != nil {
			return err
		}
		if asked == again {
			b.counts.restarts.Add(1)
		}
	}
}

func (b *Bench) liveSettings() LiveSettings {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.saved.Live
}

// liveStream shows one stream.
func (b *Bench) liveStream(a *activity, d *desk, s *live.Session, set LiveSettings) (poke, error) {
	tones, chosen, err := b.toneOf(a, d, s, set.At, set.Part)
	if err != nil {
		return "", err
	}
	plan, err := s.Steady(a.ctx, tones, streamSeconds)
	if err != nil {
		return "", err
	}
	q, err := set.question()
	if err != nil {
		return "", err
	}
	q.chosen = chosen
	r := &reader{bench: b, desk: d, session: s, plan: plan, question: q, what: live.Subject{Role: fixture.PartRole, Name: b.partName(d, set.Part)}}
	return a.listen(s, plan, r.show)
}

// partName is what the part is called: by its person, or else by the tray.
func (b *Bench) partName(d *desk, given string) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	if given == "" && d.card != nil {
		return d.card.Inserted()
	}
	return given
}

// toneFor is the tone of a live reading; one that may be moved goes to a calibrated
// frequency where there is one.
func (b *Bench) toneFor(d *desk, at string) ([]stimulus.ToneRequest, error) {
	tone, err := oneTone(at)
	if err != nil {
		return nil, err
	}
	tones := []stimulus.ToneRequest{tone}
	b.mu.Lock()
	defer b.mu.Unlock()
	if d.cal != nil {
		tones = sweep.Near(tones, d.cal.Frequencies())
	}
	return tones, nil
}

// auto asks for the frequency that suits the part.
const auto = "auto"

// toneOf is the tone that is asked for; by auto the one that suits the part in the jig, by
// a short look at it, and why.
func (b *Bench) toneOf(a *activity, d *desk, s *live.Session, at, part string) ([]stimulus.ToneRequest, *result.Chosen, error) {
	if at != auto {
		tones, err := b.toneFor(d, at)
		return tones, nil, err
	}
	setup := &predict.Setup{Jig: d.jig, Card: live.CardOf(d.jig), Uncalibrated: d.cal == nil}
	look, err := s.LookAt(a.ctx, setup, d.cal, strings.TrimSpace("look "+b.partName(d, part)))
	if err != nil {
		return nil, nil, err
	}
	tone, suited, err := look.Suit(setup, d.cal)
	if err != nil {
		return nil, nil, err
	}
	return []stimulus.ToneRequest{tone}, result.NewChosen(suited), nil
}

// oneTone reads a single frequency.
func oneTone(at string) (stimulus.ToneRequest, error) {
	tones, err := someTones(at)
	if err != nil {
		return stimulus.ToneRequest{}, err
	}
	if meant, ok := parts.CommaMeant(at); ok {
		return stimulus.ToneRequest{}, invalid("%q is a list of two frequencies; did you mean %s?", at, meant)
	}
	if len(tones) != 1 {
		return stimulus.ToneRequest{}, invalid("%q: a single frequency, such as 1k or ~1k", at)
	}
	return tones[0], nil
}

// someTones reads frequencies in the notation of the command line.
func someTones(at string) ([]stimulus.ToneRequest, error) {
	list, err := parts.ParseFrequencies(at)
	if err != nil {
		return nil, invalid("frequency: %w", err)
	}
	var out []stimulus.ToneRequest
	for _, r := range list {
		if r.All {
			return nil, invalid("%q: name the frequencies, such as 20..20k/31", at)
		}
		out = append(out, stimulus.ToneRequest{FreqHz: r.FreqHz, Movable: r.Movable})
	}
	return out, nil
}

// parseLevel reads a level such as -12dBFS or 0.1V; nil for none.
func parseLevel(text string) (*fixture.Level, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, nil
	}
	var l fixture.Level
	if strings.HasSuffix(strings.ToLower(text), "v") {
		v, err := parts.ParsePositive(text, parts.Volt)
		if err != nil {
			return nil, invalid("level: %w", err)
		}
		return &fixture.Level{Value: v, Volts: true}, nil
	}
	number := strings.TrimSpace(strings.Replace(strings.ToLower(text), "dbfs", "", 1))
	if _, err := fmt.Sscanf(strings.Replace(number, "\u2212", "-", 1)+"\n", "%g\n", &l.Value); err != nil || !(l.Value <= 0) || l.Value < -140 {
		return nil, invalid("level: %q is none from -140dBFS to 0dBFS, nor volts: write it as -12dBFS or 0.1V", text)
	}
	return &l, nil
}

// Latest waits for a live reading newer than n and returns it.
func (b *Bench) Latest(ctx context.Context, n int64) (*Update, error) {
	l, err := b.hub.listen()
	if err != nil {
		return nil, err
	}
	defer b.hub.leave(l)
	for {
		b.mu.Lock()
		last, a := b.live.last, b.active
		b.mu.Unlock()
		switch {
		case last != nil && last.N > n:
			return last, nil
		case a == nil || a.Kind != LiveKind && a.Kind != SortKind && a.Kind != CalibrationKind:
			return nil, conflict("there is no live reading under way")
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-l.ready:
			l.take()
		}
	}
}
