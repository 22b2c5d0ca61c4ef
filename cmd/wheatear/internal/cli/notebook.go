package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

func newNotebook(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "notebook COMMAND",
		Short: "Look up what was measured, over time, and carry it elsewhere",
		Long: `Every command that makes a result writes it into the notebook, with the jig file
and the calibration that it rests on: readings, sweeps, calibrations, jigs,
comparisons. The notebook is one file, which several programs may use at the
same time. The variable ` + notebook.Env + ` of the environment names it; otherwise
it is notebook.db in the folder wheatear of the user's data (Linux:
~/.local/share or $XDG_DATA_HOME). The word off there, or --no-notebook with a
command, keeps nothing.

Each entry is held against the SHA-256 that it was written with; one that was
changed on the disk is named and left out, and check looks for what can be
mended.

Whatever is wrong with the notebook is told, and leaves the result and the exit
status of the command as they are.

Entries are chosen by --label, by --text (words, or their beginnings, in label,
note, jig, findings and names of recordings), by --kind, such as reading, sweep
or calibration, by --verdict, and by --since and --until: a day, such as
2026-03-31, a time, such as 2026-03-31T12:00, or how long ago: 12h, 30d, 8w, 2y.`,
		Example: `  wheatear notebook list --since 30d
  wheatear notebook history c100n`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("%q is no command of wheatear notebook", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newNotebookList(a), newNotebookShow(a), newNotebookHistory(a), newNotebookDescribe(a), newNotebookExport(a), newNotebookImport(a), newNotebookPrune(a), newNotebookCheck(a))
	return cmd
}

// chosen are the flags that say which entries are meant.
type chosen struct {
	text, label, kind, verdict string
	since, until               moment
}

func (c *chosen) add(flags *pflag.FlagSet) {
	flags.SortFlags = false
	flags.StringVar(&c.text, "text", "", "with these `WORDS`, or words that begin so")
	flags.StringVar(&c.label, "label", "", "of the part of this `NAME`; * stands for any letters")
	flags.StringVar(&c.kind, "kind", "", "of this `KIND`: reading, sweep, calibration, …")
	flags.StringVar(&c.verdict, "verdict", "", "with this `VERDICT`: pass, fail, undecided, …")
	c.addTimes(flags)
}

func (c *chosen) addTimes(flags *pflag.FlagSet) {
	flags.Var(&c.since, "since", "made then or later")
	flags.Var(&c.until, "until", "made before")
}

// filter is what the flags amount to.
func (c *chosen) filter(a *app) notebook.Filter {
	return notebook.Filter{
		Text: c.text, Label: c.label, Kind: notebook.Kind(c.kind), Verdict: c.verdict,
		Since: c.since.before(a.now()), Until: c.until.before(a.now()),
	}
}

// withNotebook opens the notebook for a command about it.
func (a *app) withNotebook(write bool, do func(n *notebook.Notebook) error) error {
	file, err := notebook.Place()
	if err != nil {
		return err
	}
	if file == "" {
		return fmt.Errorf("the notebook is switched off by %s=%s: let it name a file", notebook.Env, notebook.Off)
	}
	open := notebook.OpenToRead
	if write {
		open = notebook.Open
	}
	n, err := open(a.ctx, file)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is not there yet: the first result makes it, or %s names another file", file, notebook.Env)
	}
	if err != nil {
		return err
	}
	return errors.Join(do(n), n.Hurt(), n.Close())
}

// one returns the only word of a command line, which is of a kind.
func one(args []string, what string) (string, error) {
	if len(args) != 1 || strings.TrimSpace(args[0]) == "" {
		return "", usagef("which one? Name one %s", what)
	}
	return args[0], nil
}
