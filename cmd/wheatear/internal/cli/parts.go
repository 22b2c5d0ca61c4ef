package cli

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/parts"
)

// partsFlags is what the command parts can be told.
type partsFlags struct {
	kind partType
	json bool
}

func newParts(a *app) *cobra.Command {
	var f partsFlags
	cmd := &cobra.Command{
		Use:   "parts MARKING",
		Short: "Explain a marking or a value: what it is, how to measure it",
		Long: `Parts says what is marked on a part: letters and digits (4K7J, 4n7K), figures
with an exponent (472, 4992), codes of three and two characters (66B, A5),
colour bands (yellow violet red gold), or a value as one writes it (100nF 5%).
Where a marking may mean several things, all of them are listed, the likeliest
first; --kind says what the part is.

With it come the limits of the tolerance, the nearest preferred values, and the
test conditions of the component standards: frequency, level, bias and limit of
loss, each with its source, and a word where a sound card cannot do what the
standard asks.

JSON: {"schema": "wheatear.parts/1", "text", "readings": [{"kind", "code",
"words", "r_ohm", "c_f", "l_h", "tolerance": {"letter", "minus", "plus",
"absolute_f"}, "limits": {"low", "high"}, "tempco_ppm_per_k", "link", "rkm",
"notes": [...], "series": [...], "nearest": [{"series", "value", "below",
"above"}], "conditions": [{"standard", "type", "frequencies_hz", "level",
"bias", "largest_d", "limit", "source", "beyond"}]}]}, null where there is none.`,
		Example: `  wheatear parts 4n7K
  wheatear parts yellow violet red gold
  wheatear parts 47p --kind ceramic-1`,
		RunE: func(_ *cobra.Command, args []string) error { return a.explainParts(f, strings.Join(args, " ")) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.Var(&f.kind, "kind", "what it is: "+typeNames())
	flags.BoolVar(&f.json, "json", false, "print the readings as JSON")
	return cmd
}

func (a *app) explainParts(f partsFlags, text string) error {
	if strings.TrimSpace(text) == "" {
		return usagef("which marking? Such as wheatear parts 4n7K")
	}
	readings, err := parts.Read(text, f.kind.kind.Unit())
	if err != nil {
		return &statusError{Usage, err}
	}
	doc := result.NewParts(text, f.kind.kind, readings)
	return a.show(doc, tell.Parts(doc), f.json, false)
}

// partType is a flag for the kind of part.
type partType struct{ kind parts.Type }

func (p *partType) Set(text string) error {
	p.kind = parts.Type(strings.ToLower(text))
	if p.kind.Unit() == parts.None {
		return errors.New("no such kind of part: write one of " + typeNames())
	}
	return nil
}

func (p *partType) String() string { return string(p.kind) }
func (p *partType) Type() string   { return "KIND" }

func typeNames() string {
	var list []string
	for _, t := range parts.Types() {
		list = append(list, string(t))
	}
	return strings.Join(list, ", ")
}
