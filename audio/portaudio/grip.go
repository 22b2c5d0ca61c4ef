package portaudio

import (
	"fmt"

	"example.org/wheatear/audio"
)

// grip is a card's hold on the library and the devices it found there. Its
// methods are jobs of the library, or parts of one, and work on a copy: a job that
// is left behind must not write into the card.
type grip struct {
	lib     *library
	in, out Device
	held    bool // the library is started for this grip
	stale   bool // the library's list is no longer true
}

// renew starts the library if need be, and finds the devices anew: their numbers
// may have changed.
func (g *grip) renew(o Options) error {
	if g.stale {
		if err := g.end(); err != nil {
			return err
		}
	}
	if !g.held {
		if err := g.lib.acquire(); err != nil {
			return err
		}
		g.held = true
	}
	if err := g.find(o); err != nil {
		g.letGo()
		return err
	}
	return nil
}

// end gives the library back.
func (g *grip) end() error {
	if !g.held {
		return nil
	}
	g.held, g.stale = false, false
	return g.lib.release()
}

// letGo is end where another error is to be told.
func (g *grip) letGo() { _ = g.end() }

// find chooses the devices from the library's list.
func (g *grip) find(o Options) error {
	devices, err := g.lib.drv.devices()
	if err != nil {
		return err
	}
	in, err := Choose(devices, o.Input, Input)
	if err != nil {
		return err
	}
	out := in
	if o.Output != "" {
		if out, err = Choose(devices, o.Output, Output); err != nil {
			return err
		}
	}
	if out.Outputs == 0 {
		return fmt.Errorf("%w: %q has no output; name a device that plays", audio.ErrChannels, in.Name)
	}
	g.in, g.out = in, out
	return nil
}
