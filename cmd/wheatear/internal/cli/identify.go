package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/identify"
)

func newIdentify(a *app) *cobra.Command {
	f := newFittedFlags()
	cmd := &cobra.Command{
		Use:   "identify",
		Short: "Tell what an unknown part is, by a short look or a sweep",
		Long: `Identify takes a short look at an unknown part, one record of several tones, and
says what it is, resistor, capacitor or inductor, with its value, ESR, D or Q at the
frequency that standards and the trade name for such a part, the nearest preferred
value, what speaks against it, and whether other parts seem to lie beside it.

With --thorough, or where frequencies, recordings, a file or a drawing are named,
it reads the part over frequency and tells what it is: resistor; capacitor, by its loss of film or class-1 ceramic, class-2 ceramic, electrolytic
or leaky; coil in air or on a core; transformer winding; resonator; loudspeaker;
or a network of several. It names the value and the preferred value nearest to it,
where the part resonates with itself, and over which frequencies it behaves as it is
called, with its confidence and the reasons.

The sweep is live, all tones at once; from recordings, or from a Touchstone
file, of which no uncertainty is known.

Exit status 3: a reading is not to be trusted, or what it is cannot be told.
JSON of a short look: {"schema": "wheatear.identify.quick/1", "kind", "chosen",
"reading" (as in measure --json), "marking", "doubts": [{"kind", "frequency_hz",
"value", "unit"}], "readings", "jig", "calibration", "part", "findings",
"rests_on"}.
JSON of a sweep: {"schema": "wheatear.identify/1", "family" (null where it cannot be told),
"confidence", "reasons", "unit", "value", "value_hz", "marking": {"series",
"value", "text", "off"}, "resonance_hz", "behaves_from_hz", "behaves_to_hz",
"circuit" (as in fit --json), "jig", "calibration", "part", "touchstone",
"points", "consistency", "readings", "findings"}.`,
		Example: `  wheatear identify --part c100n
  wheatear identify --jig bench.toml --calibration live.json --part what \
      --plot what.svg
  wheatear identify --jig jig.toml --calibration cal.json --recording what.wav`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.identify(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	f.add(a, flags)
	flags.BoolVar(&f.thorough, "thorough", false, "read it over frequency and fit circuits")
	f.entry.describe(flags)
	flags.BoolVar(&f.json, "json", false, "print the answer as JSON")
	return cmd
}

func (a *app) identify(f fittedFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	if f.quick() {
		return a.identifyQuickly(f)
	}
	s, err := a.swept(f)
	if err != nil {
		return err
	}
	if len(s.Data.Z) == 0 {
		return &statusError{Untrusted, errors.New("no reading can be trusted, so that nothing can be told; sweep shows why")}
	}
	id, err := identify.Of(s.Data)
	if err != nil {
		return err
	}
	a.notToBeTold(id.Family == identify.Unknown)
	doc := result.NewIdentity(s.Document(id.Consistency), id)
	told := tell.Identity(doc)
	if err := a.show(doc, told, f.json, false); err != nil {
		return err
	}
	a.enterResult(f.entry.on(f.jig, f.part, &s.Measurement), doc)
	if err := a.writeReport(f.paper, told); err != nil {
		return err
	}
	if id.Choice == nil && (f.plot != "" || f.plane != "") {
		return fmt.Errorf("%s was not drawn: too few points for a circuit", f.plot+f.plane)
	}
	return errors.Join(a.draw(f.plot, block.ChartOf(told).Draw), a.draw(f.plane, block.ChartAt(told, 1).Draw))
}
