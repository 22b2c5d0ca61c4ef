package cli

import (
	"strings"

	"github.com/spf13/pflag"

	"example.org/wheatear/lockin/fixture"
)

// aroundFlag is what is known to be connected beside a part.
type aroundFlag struct{ to **fixture.Around }

func (f aroundFlag) Set(text string) error {
	around, err := fixture.ParseAround(text)
	if err == nil {
		*f.to = around
	}
	return err
}

func (f aroundFlag) String() string { return "" }
func (f aroundFlag) Type() string   { return "ELEMENTS" }

// addAround adds the flags that take out what is known.
func (a *app) addAround(flags *pflag.FlagSet) {
	flags.Var(aroundFlag{&a.parallel}, "parallel", "take out what lies in parallel, with its tolerance: 4k7/1%  10u//100k")
	flags.Var(aroundFlag{&a.inSeries}, "series", "take out what lies in series with part and that")
}

// tellAround says which tolerances were assumed.
func (a *app) tellAround() {
	var assumed []string
	for _, k := range []*fixture.Around{a.inSeries, a.parallel} {
		if k != nil {
			assumed = append(assumed, k.Assumed...)
		}
	}
	if len(assumed) > 0 && !a.assumedTold {
		a.assumedTold = true
		a.say("Taken out with an assumed tolerance: %s. Write 4k7/1%% for another.", strings.Join(assumed, ", "))
	}
}
