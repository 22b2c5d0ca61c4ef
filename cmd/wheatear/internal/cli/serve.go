package cli

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"
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
	secret string // file with the token
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
reach it, who then need a token: the one that is printed, or that of
--token-file, of the variable ` + tokenEnv + `, or of --token, which every
user of this computer sees in the list of processes. What goes over the network
is not encrypted. To reach the page safely from elsewhere leave --listen as it
is and use a tunnel, such as ssh -L 8087:127.0.0.1:8087 BENCH, or a proxy that
ends TLS on this computer and passes requests on to 127.0.0.1:8087, unbuffered
and with their Host; give serve the name by --name, and a token, as the proxy
makes everybody a user of this computer.

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
	flags.StringVar(&f.secret, "token-file", "", "read it from `FILE`")
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
	token, err := f.readToken()
	if err != nil {
		return err
	}
	o := page.Options{Folder: folder, JigFile: f.jig, Version: version(), Token: token, Keep: int64(f.keep), Hosts: f.names, Now: a.now, OpenCard: a.openCard}
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
	for i, host := range hosts(ln.Addr().(*net.TCPAddr), f.names, net.InterfaceAddrs) {
		lead := "The page is at"
		if i > 0 {
			lead = "or at"
		}
		fmt.Fprintf(a.talk, "%s http://%s/%s\n", lead, host, query(o.Token))
	}
	a.say("Ctrl-C ends it.")
	if o.Beyond {
		a.say("Not encrypted: whoever can listen on this network reads the token and everything shown. wheatear help serve tells how to put TLS before it.")
	}
	if drawn {
		a.say("Everything is kept in %s; go on from there another time with --folder %s.", folder, folder)
	}
	return b.Serve(a.ctx, ln)
}

// tokenEnv is the variable of the environment that may hold the token.
const tokenEnv = "WHEATEAR_TOKEN"

// readToken is the token of the flag, of a file or of the environment; empty for none.
func (f *serveFlags) readToken() (string, error) {
	if f.token != "" && f.secret != "" {
		return "", usagef("--token and --token-file both give a token; leave one out")
	}
	if f.token != "" || f.secret == "" {
		return cmp.Or(f.token, os.Getenv(tokenEnv)), nil
	}
	text, err := os.ReadFile(f.secret)
	if err != nil {
		return "", err
	}
	token := strings.TrimSpace(string(text))
	if token == "" || len(token) > 4096 || strings.ContainsFunc(token, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return "", fmt.Errorf("%s holds no token: write one word of letters and digits into it", f.secret)
	}
	return token, nil
}

// hosts are the names under which others reach the listener, each with its port: names
// that were given, and where it listens on every address all those that others can use.
func hosts(at *net.TCPAddr, names []string, interfaces func() ([]net.Addr, error)) (list []string) {
	port := strconv.Itoa(at.Port)
	for _, name := range names {
		list = append(list, net.JoinHostPort(name, port))
	}
	if !at.IP.IsUnspecified() {
		return append(list, at.String())
	}
	addresses, _ := interfaces() // where there are none this computer remains
	for _, a := range addresses {
		n, ok := a.(*net.IPNet)
		if ok && n.IP.IsGlobalUnicast() && (n.IP.To4() != nil || at.IP.To4() == nil) {
			list = append(list, net.JoinHostPort(n.IP.String(), port))
		}
	}
	if len(list) == 0 {
		list = append(list, net.JoinHostPort("127.0.0.1", port))
	}
	return list
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
	return a.enterInto(file, entered{label: part, note: note, jig: jigFile, calibration: calibrationFile, cal: cal, files: files, redo: redo}, write)
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
