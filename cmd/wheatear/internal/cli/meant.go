package cli

import (
	"context"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"example.org/wheatear/cmd/wheatear/internal/live"
)

// nearlyMeant is how many letters of a name may be wrong where it is understood.
const nearlyMeant = 2

// orElse asks whether one of some names was meant; empty for none.
func orElse(names []string) string {
	if len(names) == 0 {
		return ""
	}
	return "; did you mean " + strings.Join(names, " or ") + "?"
}

var unknownFlag = regexp.MustCompile(`unknown flag: --([\w-]+)`)

// flagError is a flag that there is not, with what may have been meant.
type flagError struct {
	err   error
	meant string
}

func (e *flagError) Error() string { return e.err.Error() + e.meant }
func (e *flagError) Unwrap() error { return e.err }

// meantFlag adds the flags of a command that are spelt nearly like one that there is not.
func meantFlag(cmd *cobra.Command, err error) error {
	name := unknownFlag.FindStringSubmatch(err.Error())
	if name == nil {
		return err
	}
	names := &cobra.Command{SuggestionsMinimumDistance: nearlyMeant} // it knows how to compare names of commands
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		names.AddCommand(&cobra.Command{Use: f.Name, Run: func(*cobra.Command, []string) {}})
	})
	var list []string
	for _, n := range names.SuggestionsFor(name[1]) {
		list = append(list, "--"+n)
	}
	return &flagError{err, orElse(list)}
}

// completeParts completes the name of a part in the tray of the simulated jig.
func (a *app) completeParts(cmd *cobra.Command, _ []string, start string) (names []string, _ cobra.ShellCompDirective) {
	file := ""
	if f := cmd.Flags().Lookup("jig"); f != nil {
		file = f.Value.String()
	}
	if b, _, err := a.currentBench(); file == "" && err == nil && b != nil {
		file = b.Jig
	}
	jig, err := readJig(file)
	if err != nil || jig.Card.Backend != live.Virtual {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	session, err := live.Open(context.WithoutCancel(a.ctx), live.Options{Jig: jig, Dir: filepath.Dir(file)})
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer session.Close()
	for _, p := range append(session.Parts(), "open", "short", "load") {
		if strings.HasPrefix(p, start) {
			names = append(names, p)
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
