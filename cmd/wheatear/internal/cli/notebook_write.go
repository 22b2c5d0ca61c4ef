package cli

import (
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

func newNotebookDescribe(a *app) *cobra.Command {
	var label, note string
	cmd := &cobra.Command{
		Use:   "describe NUMBER",
		Short: "Change label or note of an entry",
		Long: `Describe changes the label or the note of an entry. What was measured cannot be
changed.`,
		Example: "  wheatear notebook describe 1 --note \"hand soldered\"",
	}
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		id, err := number(args)
		if err != nil {
			return err
		}
		changed := cmd.Flags().Changed
		if !changed("label") && !changed("note") {
			return usagef("what is to be changed? Add --label or --note")
		}
		return a.withNotebook(true, func(n *notebook.Notebook) error {
			e, err := n.Get(a.ctx, id)
			if err != nil {
				return err
			}
			if changed("label") {
				e.Label = label
			}
			if changed("note") {
				e.Note = note
			}
			return n.Describe(a.ctx, id, e.Label, e.Note)
		})
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().StringVar(&label, "label", "", "`NAME` of the part")
	cmd.Flags().StringVar(&note, "note", "", "`TEXT`")
	return cmd
}

func newNotebookExport(a *app) *cobra.Command {
	var c chosen
	var out string
	var asCSV bool
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Write entries as lines of JSON or as CSV",
		Long: `Export writes entries as lines of JSON, with all that they rest on, for import
into another notebook; kept recordings are not among it. As CSV (RFC 4180) it
writes the readings in them, a line each, with the unit at the end of each
column's name; a label or note that begins with = + - @ gets an apostrophe
before it there, as programs for tables would compute it. Which entries is
chosen as wheatear help notebook tells.

JSON, a document a line: {"schema": "wheatear.notebook.document/1", "sha256",
"name", "text"} for each jig file or calibration, before the entries that rest
on it; {"schema": "wheatear.notebook.entry/1", "key", "time", "label", "note",
"command", "rests_on": [{"role", "sha256"}], "files", "result": {...}}.`,
		Example: `  wheatear notebook export --label c100n --out c100n.jsonl
  wheatear notebook export --since 1y --out year.csv`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error {
			asCSV = asCSV || strings.EqualFold(filepath.Ext(out), ".csv")
			return a.withNotebook(false, func(n *notebook.Notebook) error { return a.notebookExport(n, c, out, asCSV) })
		},
	}
	c.add(cmd.Flags())
	cmd.Flags().StringVar(&out, "out", "", "write to `FILE`, as CSV where it ends in .csv (default standard output)")
	cmd.Flags().BoolVar(&asCSV, "csv", false, "write CSV")
	return cmd
}

func (a *app) notebookExport(n *notebook.Notebook, c chosen, out string, asCSV bool) error {
	write, what := n.Export, "entries"
	if asCSV {
		write, what = n.ExportCSV, "readings"
	}
	if out == "" {
		_, err := write(a.ctx, a.out, c.filter(a))
		return err
	}
	count := 0
	err := writeFile(out, func(w io.Writer) (err error) {
		count, err = write(a.ctx, w, c.filter(a))
		return err
	})
	if err == nil {
		a.say("Written to %s: %d %s.", out, count, what)
	}
	return err
}

func newNotebookImport(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Take in entries that export has written",
		Long: `Import adds the entries of an export. Those that are there already are left as
they are, so that an import may be repeated. Where a line is not understood,
nothing is imported.

JSON: {"schema": "wheatear.notebook.import/1", "added", "known"}.`,
		Example: "  wheatear notebook import c100n.jsonl",
		RunE: func(_ *cobra.Command, args []string) error {
			file, err := one(args, "file that export has written")
			if err != nil {
				return err
			}
			f, err := os.Open(file)
			if err != nil {
				return err
			}
			defer f.Close()
			return a.withNotebook(true, func(n *notebook.Notebook) error {
				added, known, err := n.Import(a.ctx, f)
				if err != nil {
					return err
				}
				doc := &result.NotebookImport{Schema: result.NotebookImportSchema, Added: added, Known: known}
				if asJSON {
					return result.Write(a.out, doc)
				}
				return text.Write(a.talk, tell.NotebookImport(doc), text.Look{})
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the outcome as JSON")
	return cmd
}

func newNotebookPrune(a *app) *cobra.Command {
	var older string
	var x notebook.Excess
	var kind string
	var yes, asJSON bool
	cmd := &cobra.Command{
		Use:   "prune",
		Short: "Delete old entries",
		Long: `Prune deletes entries older than an age, or all but the newest; with both,
those that are neither young nor among the newest. Without --yes it only says
which. Jig files, calibrations and kept recordings go with the last entry that
rests on them.

JSON: {"schema": "wheatear.notebook.prune/1", "entries", "oldest", "newest",
"records", "done"}.`,
		Example: "  wheatear notebook prune --older 2y --keep 1000",
		Args:    noArgs,
		RunE: func(*cobra.Command, []string) error {
			if older == "" && x.Keep == 0 {
				return usagef("which are to go? Add --older, such as --older 2y, or --keep, such as --keep 1000")
			}
			if older != "" {
				ago, err := notebook.ParseAge(older)
				if err != nil {
					return usagef("--older: %s", plain(err))
				}
				x.Before = ago(a.now())
			}
			if x.Keep < 0 {
				return usagef("--keep %d: a number of entries cannot be negative", x.Keep)
			}
			x.Kind = notebook.Kind(kind)
			return a.withNotebook(yes, func(n *notebook.Notebook) error { return a.notebookPrune(n, x, yes, asJSON) })
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&older, "older", "", "older than `AGE`: 12h, 30d, 8w, 2y")
	flags.IntVar(&x.Keep, "keep", 0, "all but the newest `MANY`")
	flags.StringVar(&x.Label, "label", "", "only those of the part of this `NAME`")
	flags.StringVar(&kind, "kind", "", "only those of this `KIND`")
	flags.BoolVar(&yes, "yes", false, "do it")
	flags.BoolVar(&asJSON, "json", false, "print the outcome as JSON")
	return cmd
}

func (a *app) notebookPrune(n *notebook.Notebook, x notebook.Excess, yes, asJSON bool) error {
	prune := n.WouldPrune
	if yes {
		prune = n.Prune
	}
	p, err := prune(a.ctx, x)
	if err != nil {
		return err
	}
	return a.showDocument(p.Document(yes), asJSON)
}
