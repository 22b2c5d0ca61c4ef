package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/page"
	"example.org/wheatear/lockin/fixture"
)

// serveFlags is what the command serve can be told.
type serveFlags struct {
	jig    string
	folder string
	listen string
	token  string
	names  []string
	keep   bytesFlag
}

func newServe(a *app) *cobra.Command {
	f := serveFlags{keep: 2e9}
	cmd := &cobra.Command{
		Use:   "serve [--jig FILE]",
		Short: "Measure from a page in the browser",
		Long: `Serve shows a page on this computer from which one measures: the live reading
with what was heard and how far it holds, a guided calibration, and sweeps. The
simulated jig is always there, so that nothing but this command is needed for a
first try.

Everything that is measured is kept in a folder, and a program that was ended
goes on from there. Without --folder it is a new one: with --jig beside the jig
file, else in the system's place for temporary files. Once the recordings of a
jig need more than --keep-recordings allows, the oldest go at the end of a
reading, with the reports that rest on them; readings, calibrations and the
sweep that is shown stay, and so do the recordings of the standards in use.

The page is for this computer alone. --listen with another address lets others
reach it, who then need the token that is printed, or the one of --token.

Programs use the same interface as the page: /api/openapi.json describes it,
/metrics has counts for monitoring.`,
		Example: `  wheatear serve
  wheatear serve --jig bench.toml --folder bench`,
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return a.serve(f) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.jig, "jig", "", "jig `FILE`, beside the simulated one")
	flags.StringVar(&f.folder, "folder", "", "keep everything in directory `DIR`")
	flags.Var(&f.keep, "keep-recordings", "keep this `SIZE` of recordings, such as 500MB or 10GB; all for no limit")
	flags.StringVar(&f.listen, "listen", "127.0.0.1:8087", "`ADDRESS` and port of the page; port 0 takes a free one")
	flags.StringVar(&f.token, "token", "", "`WORD` that every request must carry (default none, or a drawn one where others can reach the page)")
	flags.StringArrayVar(&f.names, "name", nil, "host `NAME` by which the page is called; may be repeated")
	return cmd
}

func (a *app) serve(f serveFlags) error {
	ln, err := net.Listen("tcp", f.listen)
	if err != nil {
		return fmt.Errorf("%w; name another address or port with --listen, such as --listen 127.0.0.1:0", err)
	}
	defer ln.Close()
	folder, drawn, err := f.place()
	if err != nil {
		return err
	}
	o := page.Options{Folder: folder, JigFile: f.jig, Version: version(), Token: f.token, Keep: int64(f.keep), Hosts: f.names, Now: a.now, OpenCard: a.openCard}
	o.Beyond = !ln.Addr().(*net.TCPAddr).IP.IsLoopback()
	o.Command, o.Enter, o.Notebook = a.errand, a.enterFromPage, a.pageNotebook()
	for _, c := range newRoot(a).Commands() {
		o.Commands = append(o.Commands, c.Name())
	}
	if o.Beyond && o.Token == "" {
		o.Token = rand.Text()
	}
	b, err := page.New(o)
	if err != nil {
		return err
	}
	a.say("The page is at http://%s/%s; ctrl-C ends it.", ln.Addr(), query(o.Token))
	if drawn {
		a.say("Everything is kept in %s; go on from there another time with --folder %s.", folder, folder)
	}
	return b.Serve(a.ctx, ln)
}

// errand runs another command as its command line would.
func (a *app) errand(ctx context.Context, e page.Errand) int {
	other := newApp(ctx, e.In, e.Out, e.Talk)
	other.openCard = func(ctx context.Context, o live.Options) (*live.Session, error) {
		o.Spoil = e.Spoil
		return a.openCard(ctx, o)
	}
	args := e.Args
	if a.noNotebook {
		args = append([]string{"--no-notebook"}, args...)
	}
	return other.run(args)
}

// pageNotebook is the notebook's file, empty where it is switched off. Where there is no
// place for it the first result tells why.
func (a *app) pageNotebook() string {
	file, err := notebook.Place()
	if err != nil || a.noNotebook {
		return ""
	}
	return file
}

// enterFromPage puts what the page has measured into the notebook. Trouble with it is
// no reason to leave out what is measured later, when it may be over.
func (a *app) enterFromPage(part, note, jigFile, calibrationFile string, cal *fixture.Calibration, files, redo []string, write func(io.Writer) error) error {
	file, err := notebook.Place()
	if err != nil || file == "" || a.noNotebook {
		return err
	}
	return a.enterInto(file, result{label: part, note: note, jig: jigFile, calibration: calibrationFile, cal: cal, files: files, redo: redo}, write)
}

// query hands a token over with the address.
func query(token string) string {
	if token == "" {
		return ""
	}
	return "?token=" + token
}

// place is the folder; drawn where nobody has named it.
func (f *serveFlags) place() (folder string, drawn bool, err error) {
	switch {
	case f.folder != "":
		folder, err = filepath.Abs(f.folder)
	case f.jig != "":
		folder, err = filepath.Abs(strings.TrimSuffix(f.jig, filepath.Ext(f.jig)) + "-bench")
		drawn = true
	default:
		folder, err = os.MkdirTemp("", "wheatear-bench-")
		drawn = true
	}
	if err != nil {
		err = errors.Join(errors.New("no folder for what is measured"), err)
	}
	return folder, drawn, err
}
