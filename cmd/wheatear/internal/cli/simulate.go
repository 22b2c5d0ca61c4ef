package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/parts"
)

// simulateFlags is what the command simulate can be told.
type simulateFlags struct {
	tray string
	part string
	rate quantity
	seed uint64
	list bool
	json bool
}

func newSimulate(a *app) *cobra.Command {
	f := simulateFlags{rate: quantity{48000, parts.Hertz, "HZ"}}
	cmd := &cobra.Command{
		Use:   "simulate --tray FILE (--part NAME | --list)",
		Short: "Stand as a simulated jig between two devices",
		Long: `Simulate is a jig with a part in it, as a filter: standard input is what a card
plays, standard output what its two inputs hear. Both are raw frames of two
channels, 32 bit floating point, little endian, of which the first that comes in
drives the jig. With a sound server that has two devices without hardware it
makes a card of them, for trying out everything without a jig.

The tray is a TOML file with a table [[part]] for each part, such as
name = "c100n" and circuit = "C 100n + R 0.5"; tables [jig] and [faults] may say
what jig and card are like. --seed stands for one putting in of the part: noise,
contact and strays are drawn anew with another. It ends with its input, or when
it is asked to.

JSON of --list: {"schema": "wheatear.simulate/1", "parts": [{"name", "circuit",
"note"}]}.`,
		Example: `  wheatear simulate --tray tray.toml --list
  parec --raw --format=float32le --channels=2 --rate=48000 -d out.monitor \
      | wheatear simulate --tray tray.toml --part c100n \
      | pacat --raw --format=float32le --channels=2 --rate=48000 -d in`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.simulate(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.tray, "tray", "", "`FILE` with the parts (default the standards alone)")
	flags.StringVar(&f.part, "part", "", "`NAME` of the part, or open, short, load")
	flags.Var(&f.rate, "rate", "frames per second")
	flags.Uint64Var(&f.seed, "seed", 1, "`NUMBER` that all that is drawn begins with")
	flags.BoolVar(&f.list, "list", false, "list what can be put into the jig")
	flags.BoolVar(&f.json, "json", false, "with --list: print it as JSON")
	return cmd
}

func (f *simulateFlags) check(a *app) error {
	switch {
	case f.list && f.part != "":
		return usagef("--list shows what there is and --part puts it in; leave one out")
	case f.json && !f.list:
		return usagef("--json goes with --list; otherwise standard output is raw frames")
	case f.list:
		return nil
	case f.part == "":
		return usagef("which part? Add --part NAME; --list shows what there is")
	case isTerminal(a.in) || isTerminal(a.stdout):
		return usagef("simulate turns raw frames into raw frames, which is nothing for a terminal: put it between two programs, as wheatear help simulate shows")
	}
	return nil
}

func (a *app) simulate(f simulateFlags) error {
	if err := f.check(a); err != nil {
		return err
	}
	card, err := f.card()
	if err != nil {
		return err
	}
	if f.list {
		doc := result.NewTray(card.Parts())
		return a.show(doc, tell.Tray(doc), f.json, false)
	}
	if err := card.Insert(f.part); err != nil {
		return err
	}
	err = card.Filter(a.ctx, &untilDone{a.ctx, a.in}, a.stdout, f.rate.value)
	if errors.Is(err, context.Canceled) {
		return nil // it was asked to end, and that is how a jig ends
	}
	return err
}

// card makes the jig that the flags ask for.
func (f *simulateFlags) card() (*virtual.Card, error) {
	tray := &virtual.Tray{}
	if f.tray != "" {
		text, err := os.ReadFile(f.tray)
		if err != nil {
			return nil, err
		}
		if tray, err = virtual.ParseTray(f.tray, text); err != nil {
			return nil, err
		}
	}
	return virtual.New(live.Simulated(tray, f.seed))
}

// untilDone is a reader that gives up waiting when the context ends. The goroutine
// that still waits then ends with the input.
type untilDone struct {
	ctx context.Context
	in  io.Reader
}

func (r *untilDone) Read(p []byte) (int, error) {
	type chunk struct {
		bytes []byte
		err   error
	}
	read := make(chan chunk, 1)
	room := make([]byte, len(p)) // its own: p is the caller's again after giving up
	go func() {
		n, err := r.in.Read(room)
		read <- chunk{room[:n], err}
	}()
	select {
	case <-r.ctx.Done():
		return 0, fmt.Errorf("interrupted: %w", context.Cause(r.ctx))
	case c := <-read:
		return copy(p, c.bytes), c.err
	}
}
