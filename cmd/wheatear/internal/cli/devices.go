package cli

import (
	"errors"
	"time"

	"github.com/spf13/cobra"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

func newDevices(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "devices",
		Short: "List the sound cards, and which of them would serve",
		Long: `Devices lists the sound devices that there are, with the channels and rates that
their drivers claim, and says which pair would serve and why. A jig file names a
device by its name, part of it, or "family: name"; numbers shift when something
is plugged in. The simulated card is always there.

Exit status 1 where there is no sound card; with --json an empty list is a
result like any other, and the reasons are told on standard error.

JSON: {"schema": "wheatear.devices/1", "devices": [{"number", "api", "name",
"inputs", "outputs", "rates_hz", "default_input", "default_output", "note"}],
"pair": {"input", "output", "why"} or null, "simulated": {...}}.`,
		Example: "  wheatear devices --json",
		Args:    noArgs,
		RunE:    func(*cobra.Command, []string) error { return a.devices(asJSON) },
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the list as JSON")
	return cmd
}

// probing is how long trying the rates of all devices may take.
const probing = 8 * time.Second

func (a *app) devices(asJSON bool) error {
	list, err := a.listCards(a.ctx, portaudio.Options{Rates: true, Patience: probing})
	if err == nil && len(list) == 0 {
		err = portaudio.ErrNone
	}
	if a.ctx.Err() != nil {
		return err
	}
	absent := errors.Is(err, portaudio.ErrNone) || errors.Is(err, errors.ErrUnsupported)
	switch {
	case err == nil:
	case absent && asJSON:
		a.say("wheatear: %s", plain(err))
	default:
		a.complain(err)
	}
	simulated, err := simulatedDevice()
	if err != nil {
		return err
	}
	pair := live.Serving(list)
	if pair == nil && len(list) > 0 {
		a.say("None of these would serve: one device must have two inputs, since both voltages must come from one converter.")
	}
	doc := &result.Devices{Schema: result.DevicesSchema, Devices: []result.Device{}, Simulated: simulated}
	for _, d := range list {
		doc.Devices = append(doc.Devices, result.Device{Number: d.Number, API: d.API, Name: d.Name, Inputs: d.Inputs, Outputs: d.Outputs,
			RatesHz: append([]float64{}, d.RatesHz...), DefaultInput: d.DefaultInput, DefaultOutput: d.DefaultOutput, Note: d.Describe().Note})
	}
	if pair != nil {
		doc.Pair = &result.DevicePair{Input: pair.Input.FullName(), Output: pair.Output.FullName(), Why: pair.Why}
	}
	return a.show(doc, tell.Devices(doc), asJSON, false)
}

// simulatedDevice describes the simulated card.
func simulatedDevice() (audio.Device, error) {
	card, err := virtual.New(virtual.Config{})
	if err != nil {
		return audio.Device{}, err
	}
	return card.Describe(), nil
}
