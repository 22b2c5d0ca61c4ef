package cli

import (
	"errors"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/export"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/circuit"
)

// fitFlags is what the command fit can be told.
type fitFlags struct {
	fittedFlags
	circuits []string
	spice    string

	candidates []circuit.Candidate
}

func newFit(a *app) *cobra.Command {
	f := fitFlags{fittedFlags: newFittedFlags()}
	cmd := &cobra.Command{
		Use:   "fit --jig FILE --circuit CIRCUIT",
		Short: "Fit a circuit to a sweep of a part",
		Long: `Fit finds the values of a circuit that bring it nearest to a sweep: live, all
tones at once; from recordings; or from a Touchstone file, of which no
uncertainty is known. It needs no starting values. What readings share, such as
the tolerance of the load, is counted once.

--circuit is written with + for series and // for parallel, a letter with a name
for each unknown, and values for what is known: "Rs + C // Rp",
"Rs + L 8n + C". R C L are lumped; Q is a constant phase element, W diffusion,
K a fractional inductance, S a round wire, E a coil on sheets, T a capacitance
along a resistance. Or it is one of the named ones:
` + namedCircuits() + `
Of several, --circuit repeated, fit says which the sweep shows, or that it cannot
tell them apart. Where none agrees within the uncertainty of the readings, it
says so and allows a part of |Z| at each point for what the circuits lack.

--spice writes the fitted circuit for circuit simulators. Lumped elements are
exact; the others become ladders, with band and error in the comments.

Exit status 3: a reading is not to be trusted, or no circuit agrees with the
sweep. JSON: {"schema": "wheatear.fit/1", "choice", "words", "allowance", "circuits":
[{"circuit", "name", "unknowns": [{"name", "unit", "state", "value",
"estimate"}], "correlation", "chi_square", "dof", "probability", "agreement",
"delta", "rival", "rms", "residuals", "notes"}], "jig", "calibration", "part",
"touchstone", "points", "consistency", "readings", "findings"}, best first.`,
		Example: `  wheatear fit --jig bench.toml --calibration live.json --part c100u \
      --circuit capacitor --plot c100u.svg --spice c100u.cir
  wheatear fit --touchstone coil.s1p --circuit inductor --circuit air-coil`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.fit(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringArrayVar(&f.circuits, "circuit", nil, "`CIRCUIT` in notation or by name; may be repeated")
	f.add(a, flags)
	flags.StringVar(&f.spice, "spice", "", "write the best circuit for circuit simulators to `FILE`")
	f.entry.describe(flags)
	flags.BoolVar(&f.json, "json", false, "print the fit as JSON")
	return cmd
}

// namedCircuits lists them for the help, one a line.
func namedCircuits() string {
	var b strings.Builder
	for _, n := range circuit.Named() {
		b.WriteString("  " + n.Key + strings.Repeat(" ", max(1, 20-len(n.Key))) + n.Notation + "\n")
	}
	return b.String()
}

func (a *app) fit(f fitFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	if err := f.readCircuits(); err != nil {
		return err
	}
	s, err := a.swept(f.fittedFlags)
	if err != nil {
		return err
	}
	if len(s.Data.Z) == 0 {
		return &statusError{Untrusted, errors.New("no reading can be trusted, so that there is nothing to fit; sweep shows why")}
	}
	choice, allowed, err := circuit.ChooseNear(f.candidates, s.Data)
	if err != nil {
		return err
	}
	var check *circuit.Consistency
	if len(s.Data.Z) >= fewestChecked {
		if check, err = circuit.Check(s.Data); err != nil {
			return err
		}
	}
	a.notToBeTold(allowed > 0 || !choice.Fits[0].Near(0))
	return a.concludeFit(f, s, result.NewFit(s.Document(check), choice, allowed))
}

// fewestChecked points are needed for the Kramers–Kronig check.
const fewestChecked = 8

// readCircuits understands --circuit.
func (f *fitFlags) readCircuits() error {
	if len(f.circuits) == 0 {
		return usagef("which circuit? Add --circuit, such as --circuit \"Rs + C // Rp\" or --circuit capacitor; identify needs none")
	}
	for _, text := range f.circuits {
		if n, ok := circuit.NamedByKey(text); ok {
			f.candidates = append(f.candidates, circuit.Candidate{Name: n.Key, Circuit: n.Circuit()})
			continue
		}
		c, err := circuit.Parse(text)
		if err != nil {
			return usagef("--circuit: %s", plain(err))
		}
		if len(c.Unknowns()) == 0 {
			return usagef("--circuit %s has no unknown to be fitted: write a letter with a name for each, such as Rs or C1", text)
		}
		f.candidates = append(f.candidates, circuit.Candidate{Name: c.String(), Circuit: c})
	}
	return nil
}

func (a *app) concludeFit(f fitFlags, s *report.Swept, doc *result.Fit) error {
	told := tell.Fit(doc)
	if err := a.show(doc, told, f.json, false); err != nil {
		return err
	}
	a.enterResult(f.entry.on(f.jig, f.part, &s.Measurement), doc)
	var failed error
	if f.spice != "" {
		failed = writeFile(f.spice, func(w io.Writer) error { return export.Spice(w, doc, subcircuitName(f.spice)) })
	}
	return errors.Join(failed, a.writeReport(f.paper, told), a.draw(f.plot, block.ChartOf(told).Draw), a.draw(f.plane, block.ChartAt(told, 1).Draw))
}

// subcircuitName makes a name that simulators take from that of a file.
func subcircuitName(file string) string {
	name := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	name = strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '_' {
			return r
		}
		return '_'
	}, name)
	if name == "" || name[0] >= '0' && name[0] <= '9' || name[0] == '_' {
		name = "part_" + name
	}
	return name
}
