package cli

import (
	"github.com/spf13/pflag"

	"example.org/wheatear/lockin/impedance"
)

// asFlag is what a part is to be read as.
type asFlag struct{ to *impedance.Element }

func (f asFlag) Set(text string) (err error) {
	*f.to, err = impedance.ParseElement(text)
	return err
}

func (f asFlag) String() string { return f.to.String() }
func (f asFlag) Type() string   { return "ELEMENT" }

// addAs adds the flag that says what a part is to be read as.
func (a *app) addAs(flags *pflag.FlagSet) {
	flags.Var(asFlag{&a.as}, "as", "read the part as C, Cs, Cp, L, Ls, Lp, R, Rs, Rp, Z or Y")
}
