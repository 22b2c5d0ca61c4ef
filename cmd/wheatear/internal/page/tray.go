package page

import (
	"slices"

	"example.org/wheatear/audio/virtual"
)

// TrayView is what can be put into the simulated jig, and what can be spoilt.
type TrayView struct {
	Inserted string      `json:"inserted"`
	Parts    []TrayPart  `json:"parts"`
	Faults   []TrayFault `json:"faults"`
}

// TrayPart is a part of the tray as it really is.
type TrayPart struct {
	Name    string `json:"name"`
	Circuit string `json:"circuit"`
	Note    string `json:"note"`
}

// TrayFault is something that can be switched on to see what becomes of a reading.
type TrayFault struct {
	Code  string `json:"code"`
	Label string `json:"label"`
	On    bool   `json:"on"`
}

// fault is a way to spoil the simulated card. The amounts are such that each is seen.
type fault struct {
	code, label string
	spoil       func(*virtual.Config)
}

func faults() []fault {
	return []fault{
		{"noise", "a noisy input", func(c *virtual.Config) { c.Faults.Noise = [2]float64{3e-3, 3e-3} }},
		{"hum", "strong hum", func(c *virtual.Config) {
			c.Faults.Hum = virtual.Hum{Hz: 50.02, Levels: []float64{0.05, 0.01, 0.03, 0.005, 0.01}}
		}},
		{"dropout", "samples that go missing", func(c *virtual.Config) { c.Faults.Drops = drops() }},
		{"clipped", "an input gain too high", func(c *virtual.Config) { c.Faults.Clip, c.Faults.Gain = true, [2]float64{1.2, 1.2} }},
		{"mono", "both inputs joined to one", func(c *virtual.Config) { c.Faults.Mono = true }},
		{"swapped", "the inputs exchanged", func(c *virtual.Config) { c.Faults.Swapped = true }},
		{"gain", "a gain that was moved", func(c *virtual.Config) { c.Faults.Gain[1] += 0.03 }},
		{"auto-gain", "a gain that follows the signal", func(c *virtual.Config) { c.Faults.AutoGain = 0.3 }},
	}
}

// spoil switches faults of a simulated card on.
func spoil(c *virtual.Config, on map[string]bool) {
	for _, f := range faults() {
		if on[f.code] {
			f.spoil(c)
		}
	}
}

// spoilt does the same for a card that a command opens.
func (b *Bench) spoilt(d *desk) func(*virtual.Config) {
	b.mu.Lock()
	on := d.faults // replaced, never changed
	b.mu.Unlock()
	return func(c *virtual.Config) { spoil(c, on) }
}

// drops are a few milliseconds lost in each second of a stream.
func drops() []virtual.Drop {
	const rate, every = 48000, 0.6
	var out []virtual.Drop
	for t := every; t < streamSeconds; t += every {
		out = append(out, virtual.Drop{Frame: int64(t * rate), Frames: 130, Reported: true})
	}
	return out
}

// tray is the view; nil for a real jig. The lock is held.
func (d *desk) tray() *TrayView {
	if d == nil || d.card == nil {
		return nil
	}
	v := &TrayView{Inserted: d.card.Inserted(), Parts: []TrayPart{}, Faults: []TrayFault{}}
	for _, p := range d.card.Parts() {
		v.Parts = append(v.Parts, TrayPart{p.Name, p.Circuit, p.Note})
	}
	for _, f := range faults() {
		v.Faults = append(v.Faults, TrayFault{f.code, f.label, d.faults[f.code]})
	}
	return v
}

// Insert puts a part of the tray into the simulated jig.
func (b *Bench) Insert(name string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.trayFree(LiveKind, CalibrationKind, SortKind); err != nil {
		return err
	}
	if !slices.ContainsFunc(b.desk.card.Parts(), func(p virtual.Part) bool { return p.Name == name }) {
		return notFound("there is no %q in the tray", name)
	}
	if err := b.desk.card.Insert(name); err != nil {
		return err
	}
	b.trayChanged()
	return nil
}

// SetFaults switches faults of the simulated card on, and all others off.
func (b *Bench) SetFaults(on []string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.trayFree(LiveKind); err != nil {
		return err
	}
	d := b.desk
	set := map[string]bool{}
	for _, code := range on {
		if !slices.ContainsFunc(faults(), func(f fault) bool { return f.code == code }) {
			return notFound("there is no fault %q", code)
		}
		set[code] = true
	}
	cfg := d.config
	cfg.Seed++
	spoil(&cfg, set)
	card, err := virtual.New(cfg)
	if err == nil {
		err = card.Insert(d.card.Inserted())
	}
	if err != nil {
		return err
	}
	d.card, d.faults = card, set
	b.trayChanged()
	return nil
}

// trayFree refuses to change what is in the jig while it is being measured, but by
// activities that begin anew then. The lock is held.
func (b *Bench) trayFree(but ...string) error {
	switch {
	case b.desk == nil:
		return ErrNoJig
	case b.desk.card == nil:
		return conflict("this jig is a real one: its parts are put in by hand")
	case b.active != nil && !slices.Contains(but, b.active.Kind):
		return b.busy()
	}
	return nil
}

// trayChanged has what is heard begin anew. The lock is held.
func (b *Bench) trayChanged() {
	b.live.trend.clear()
	if b.active != nil {
		b.active.poke(again)
	}
	b.changed()
}
