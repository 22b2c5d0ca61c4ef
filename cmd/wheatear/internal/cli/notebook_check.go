package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

func newNotebookCheck(a *app) *cobra.Command {
	var mend, asJSON bool
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Look for damage, and mend what can be mended",
		Long: `Check reads all of the notebook and of the recordings kept beside it, and
compares them with the SHA-256 that each was written with. Other commands leave
out an entry that does not agree, and name it.

--mend makes indexes anew, turns back a single bit where that makes the sum
right, and makes a result again from its kept recordings; it is taken only if it
comes out the same to the last digit. Make a copy of the file first.

Exit status 1 where anything hurt is left.

JSON: {"schema": "wheatear.notebook.check/1", "entries", "records", "absent":
recordings named but not kept here, "problems": [{"entry" (0 for the file or a
recording), "what", "mended"}]}.`,
		Example: "  wheatear notebook check --mend",
		Args:    noArgs,
		RunE: func(*cobra.Command, []string) error {
			return a.withNotebook(mend, func(n *notebook.Notebook) error { return a.notebookCheck(n, mend, asJSON) })
		},
	}
	cmd.Flags().BoolVar(&mend, "mend", false, "mend what can be mended")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the outcome as JSON")
	return cmd
}

func (a *app) notebookCheck(n *notebook.Notebook, mend, asJSON bool) error {
	var how *notebook.Mend
	if mend {
		how = &notebook.Mend{Redo: a.redo}
	}
	x, err := n.Examine(a.ctx, how)
	if err != nil {
		return err
	}
	if x.Left() > 0 {
		a.status.join(Failed)
	}
	return a.showDocument(x.Document(), asJSON)
}

// redo makes the result of an entry again: its command with the kept copies in the place
// of the files that it named, which may have been changed or be gone since.
func (a *app) redo(ctx context.Context, e *notebook.Entry, records []string) (json.RawMessage, error) {
	words := commandWords(e.Command)
	if len(words) < 2 || len(records) != len(e.Files) {
		return nil, errors.New("its command does not say what it was made from")
	}
	dir, err := os.MkdirTemp("", "wheatear-redo-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	kept := map[string]string{} // by the name in the command
	for i, name := range e.Files {
		kept[name] = records[i]
	}
	for i, d := range e.Documents {
		file := filepath.Join(dir, fmt.Sprintf("%d-%s", i, filepath.Base(d.Name)))
		if err := os.WriteFile(file, []byte(d.Text), 0o600); err != nil {
			return nil, err
		}
		kept[d.Name] = file
	}
	args, named := words[1:], 0
	for i, word := range args {
		flag, value, joined := strings.Cut(word, "=")
		switch {
		case kept[word] != "":
			args[i] = kept[word]
		case joined && kept[value] != "":
			args[i], word = flag+"="+kept[value], value
		default:
			continue
		}
		if slices.Contains(e.Files, word) {
			named++
		}
	}
	if named < len(e.Files) {
		return nil, errors.New("its command read a sound card")
	}
	if !slices.Contains(args, "--json") {
		args = append(args, "--json")
	}
	var out bytes.Buffer
	other := newApp(ctx, strings.NewReader(""), &out, io.Discard)
	other.noNotebook = true
	if status := Status(other.run(append([]string{"--no-notebook"}, args...))); status == Failed || status == Usage {
		return nil, fmt.Errorf("its command ends with exit status %d", status)
	}
	text := out.String()
	for name, file := range kept {
		text = strings.ReplaceAll(text, inJSON(file), inJSON(name))
	}
	return json.RawMessage(text), nil
}

// inJSON is a text as it stands within JSON.
func inJSON(text string) string {
	b, _ := json.Marshal(text) // a text is always JSON
	return string(b[1 : len(b)-1])
}
