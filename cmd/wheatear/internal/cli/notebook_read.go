package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/parts"
)

func newNotebookList(a *app) *cobra.Command {
	var c chosen
	var limit int
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List entries, the newest first",
		Long: `List shows entries of the notebook, the newest first, a line each. Which entries
is chosen as wheatear help notebook tells.

JSON: {"schema": "wheatear.notebook.list/1", "file", "total", "entries": [{"id",
"key", "time", "kind", "label", "note", "jig", "trusted", "verdict", "findings",
"files", "points": [{"frequency_hz", "state", "trusted", "quantity", "unit",
"value", "u", "low", "high"}]}]}.`,
		Example: "  wheatear notebook list --text c100n --since 30d",
		Args:    noArgs,
		RunE: func(*cobra.Command, []string) error {
			return a.withNotebook(false, func(n *notebook.Notebook) error { return a.notebookList(n, c, limit, asJSON) })
		},
	}
	c.add(cmd.Flags())
	cmd.Flags().IntVar(&limit, "limit", 20, "that `MANY` at the most; 0 for all")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the list as JSON")
	return cmd
}

func (a *app) notebookList(n *notebook.Notebook, c chosen, limit int, asJSON bool) error {
	f := c.filter(a)
	f.Limit = limit
	entries, err := n.List(a.ctx, f)
	if err != nil {
		return err
	}
	total, err := n.Count(a.ctx, f)
	if err != nil {
		return err
	}
	return a.showDocument(notebook.ListDocument(n.File(), entries, total), asJSON)
}

func newNotebookShow(a *app) *cobra.Command {
	var to string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "show NUMBER",
		Short: "Show an entry with all that it rests on",
		Long: `Show tells of one entry when and how it was made, what it rests on, and what it
says. --to writes the jig file, the calibration, the result as JSON and kept
recordings into a directory, so that the same can be made again.

JSON: {"schema": "wheatear.notebook.show/1", "command", "rests_on": [{"role",
"name", "sha256", "text"}], "kept": [...], "result": {...}} and what list has of
each entry.`,
		Example: "  wheatear notebook show 1 --to entry-1",
		RunE: func(_ *cobra.Command, args []string) error {
			id, err := number(args)
			if err != nil {
				return err
			}
			return a.withNotebook(false, func(n *notebook.Notebook) error { return a.notebookShow(n, id, to, asJSON) })
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().StringVar(&to, "to", "", "write its files into directory `DIR`")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the entry as JSON")
	return cmd
}

// number reads the number of an entry, which is all that stands on the line.
func number(args []string) (int64, error) {
	text, err := one(args, "entry by its number, as list shows it")
	if err != nil {
		return 0, err
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id < 1 {
		return 0, usagef("%q is no number of an entry; list shows them", text)
	}
	return id, nil
}

func (a *app) notebookShow(n *notebook.Notebook, id int64, to string, asJSON bool) error {
	e, err := n.Get(a.ctx, id)
	if err != nil {
		return err
	}
	var kept []string
	for _, r := range e.Records {
		kept = append(kept, n.RecordFile(r))
	}
	if to != "" {
		if err := a.unpack(e, kept, to); err != nil {
			return err
		}
	}
	return a.showDocument(e.ShowDocument(kept), asJSON)
}

// unpack writes what an entry holds as files. What is there already is left alone.
func (a *app) unpack(e *notebook.Entry, kept []string, dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	var written []string
	put := func(name string, fill func(io.Writer) error) error {
		file := filepath.Join(dir, filepath.Base(name))
		if _, err := os.Lstat(file); err == nil {
			return fmt.Errorf("%s is there already: name another directory with --to", file)
		}
		written = append(written, file)
		return writeFile(file, fill)
	}
	for _, d := range e.Documents {
		if err := put(d.Name, literal(d.Text)); err != nil {
			return err
		}
	}
	if err := put("result.json", literal(string(e.Result)+"\n")); err != nil {
		return err
	}
	for i, file := range kept {
		if !ordinary(file) {
			a.say("The recording %s is not here: imports bring none.", e.Records[i].Name)
			continue
		}
		if err := put(e.Records[i].Name, copied(file)); err != nil {
			return err
		}
	}
	a.say("Written: %s.", strings.Join(written, ", "))
	return nil
}

func literal(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

func copied(file string) func(io.Writer) error {
	return func(w io.Writer) error {
		f, err := os.Open(file)
		if err != nil {
			return err
		}
		defer f.Close()
		_, err = io.Copy(w, f)
		return err
	}
}

func newNotebookHistory(a *app) *cobra.Command {
	var c chosen
	at := quantity{0, parts.Hertz, "HZ"}
	var what string
	var limit int
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "history LABEL",
		Short: "Show one part over time, and whether it changes",
		Long: `History shows the readings of one label over time, at the frequency and of the
quantity that most of them have, and a straight line through them with weights
by their uncertainties: how fast the part changes, and with which chance a part
that does not change shows as much. Where five or more readings rest on the same
jig file and calibration, their scatter tells how well they compare; otherwise
their uncertainties count, or the scatter if that is larger.

JSON: {"schema": "wheatear.notebook.history/1", "label", "frequency_hz",
"quantity", "unit", "points": [{"id", "time", "value", "u", "low", "high"}],
"others", "trend": {"readings", "middle", "value", "slope_per_s",
"slope_u_per_s", "degrees_of_freedom", "chance", "significance"} or null}.`,
		Example: "  wheatear notebook history c100n --at 1k",
		RunE: func(_ *cobra.Command, args []string) error {
			label, err := one(args, "label")
			if err != nil {
				return err
			}
			f := c.filter(a)
			choice := notebook.Choice{FreqHz: at.value, Quantity: what, Since: f.Since, Until: f.Until}
			return a.withNotebook(false, func(n *notebook.Notebook) error {
				past, err := n.History(a.ctx, label, choice)
				if err != nil {
					return err
				}
				doc := past.HistoryDocument()
				return a.show(doc, tell.History(doc, limit), asJSON, false)
			})
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.Var(&at, "at", "frequency (default that of most readings)")
	flags.StringVar(&what, "quantity", "", "`WHAT`: C, L, R, Cs … or |Z| (default that of most readings)")
	c.addTimes(flags)
	flags.IntVar(&limit, "limit", 20, "show that `MANY` at the most; 0 for all. The trend is of all")
	flags.BoolVar(&asJSON, "json", false, "print the history as JSON")
	return cmd
}
