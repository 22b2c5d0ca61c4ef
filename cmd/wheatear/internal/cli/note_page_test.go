package cli

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// The page's results go into the notebook again once a trouble with it is over, and
// never where it is switched off.
func TestNotebookOfThePage(t *testing.T) {
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "n.db")
	written(t, file, "this is no notebook")
	t.Setenv(notebook.Env, file)
	a := newApp(ctx, strings.NewReader(""), io.Discard, io.Discard)
	a.args = []string{"serve"}
	enter := func(part string) error {
		return a.enterFromPage(part, "", "", "", nil, nil, nil, func(w io.Writer) error {
			_, err := io.WriteString(w, `{"schema": "wheatear.measure/1"}`)
			return err
		})
	}
	if err := enter("before"); !errors.Is(err, notebook.ErrDamaged) {
		t.Errorf("damaged: %v", err)
	}
	file = filepath.Join(t.TempDir(), "new.db")
	t.Setenv(notebook.Env, file)
	if err := enter("since"); err != nil {
		t.Error(err)
	}
	if got := a.pageNotebook(); got != file {
		t.Errorf("the page looks things up in %q, want %q", got, file)
	}
	a.noNotebook = true
	if got := a.pageNotebook(); got != "" {
		t.Errorf("switched off, the page looks things up in %q", got)
	}
	if err := enter("off"); err != nil {
		t.Error(err)
	}
	n, err := notebook.OpenToRead(ctx, file)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	list, err := n.List(ctx, notebook.Filter{})
	if err != nil || len(list) != 1 || list[0].Label != "since" {
		t.Errorf("%+v, %v", list, err)
	}
}
