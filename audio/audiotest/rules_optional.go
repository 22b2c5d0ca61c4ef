package audiotest

import (
	"context"
	"errors"
	"fmt"

	"example.org/wheatear/audio"
)

// collector is a watcher that keeps what it saw.
type collector struct {
	channels [][]float64
	bad      error
	limit    int // frames after which it ends the run, 0 for none
}

func (c *collector) watch(first int64, block [][]float64) bool {
	if c.channels == nil {
		c.channels = make([][]float64, len(block))
	}
	if c.bad == nil {
		c.bad = c.take(first, block)
	}
	return c.bad == nil && (c.limit == 0 || len(c.channels[0]) < c.limit)
}

// take adds a block to what was seen before.
func (c *collector) take(first int64, block [][]float64) error {
	if len(block) == 0 || len(block) != len(c.channels) {
		return fmt.Errorf("a block of %d channels", len(block))
	}
	if have := int64(len(c.channels[0])); first != have {
		return fmt.Errorf("a block begins at frame %d, the one before ended at %d", first, have)
	}
	for i, ch := range block {
		if len(ch) != len(block[0]) || len(ch) == 0 {
			return fmt.Errorf("channel %d of a block has %d frames, channel 1 has %d", i+1, len(ch), len(block[0]))
		}
		c.channels[i] = append(c.channels[i], ch...)
		clear(ch) // a card that goes on using its block will show it in the record
	}
	return nil
}

// same says whether the record is what the watcher saw.
func (c *collector) same(rec *audio.Record) error {
	if c.bad != nil {
		return c.bad
	}
	if !sameSamples(rec, &audio.Record{Channels: c.channels}) {
		return fmt.Errorf("the %d frames shown are not the %d frames recorded", (&audio.Record{Channels: c.channels}).Frames(), rec.Frames())
	}
	return nil
}

func ruleMonitor(s *session) error {
	m, ok := s.card.(audio.Monitor)
	if !ok {
		return errNotApplicable
	}
	var c collector
	rec, err := m.RunMonitored(context.Background(), s.cfg, s.tone, c.watch)
	if c.bad != nil {
		return c.bad
	}
	if err != nil {
		return fmt.Errorf("RunMonitored failed: %w", err)
	}
	if err := checkComplete(rec, s.cfg); err != nil {
		return err
	}
	return c.same(rec)
}

func ruleMonitorStops(s *session) error {
	m, ok := s.card.(audio.Monitor)
	if !ok {
		return errNotApplicable
	}
	c := collector{limit: s.cfg.Frames}
	return s.within(func() error {
		rec, err := m.RunMonitored(context.Background(), s.long, s.drone, c.watch)
		if err := checkCutShort(rec, err, s.long, audio.ErrStopped); err != nil {
			return err
		}
		return c.same(rec)
	})
}

func ruleDevices(s *session) error {
	l, ok := s.card.(audio.Lister)
	if !ok {
		return errNotApplicable
	}
	devices, err := l.Devices(context.Background())
	if err != nil {
		return fmt.Errorf("listing with Devices failed: %w", err)
	}
	for _, d := range devices {
		if err := checkDevice(d); err != nil {
			return err
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := l.Devices(ctx); !errors.Is(err, context.Canceled) {
		return fmt.Errorf("listing with a context that has ended gives %v, not an error that wraps context.Canceled", err)
	}
	return nil
}

func ruleDescribe(s *session) error {
	d, ok := s.card.(audio.Describer)
	if !ok {
		return errNotApplicable
	}
	return checkDevice(d.Describe())
}

func checkDevice(d audio.Device) error {
	if d.Name == "" || d.Inputs < 0 || d.Outputs < 0 || d.Inputs+d.Outputs == 0 {
		return fmt.Errorf("the device %+v has no name or no channels", d)
	}
	for _, r := range d.RatesHz {
		if !(r > 0) {
			return fmt.Errorf("the device %q has a rate of %g Hz", d.Name, r)
		}
	}
	return nil
}
