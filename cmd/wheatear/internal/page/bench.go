package page

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/lockin/fixture"
)

// Options are what a bench may be told. Folder is needed.
type Options struct {
	Folder  string   // where everything is kept
	JigFile string   // of a jig beside the simulated one; empty for none
	Version string   // of the program, for the page
	Token   string   // that every request must carry; empty for none
	Keep    int64    // bytes of recordings of each jig that are kept; 0 for all
	Beyond  bool     // others than this computer can reach it; Token is needed then
	Hosts   []string // names that requests may call it by, beside addresses

	Now      func() time.Time                                           // nil: the clock
	OpenCard func(context.Context, live.Options) (*live.Session, error) // nil: live.Open

	Command  Command  // runs a command of the program; nil for none
	Commands []string // that there are
	Enter    Enter    // puts a result into the notebook; nil for none
	Notebook string   // its file, which the page looks things up in; empty where it is switched off

	limits limits // zero: what is usual
}

// Bench is what the pages show and change. It is safe for concurrent use.
type Bench struct {
	opts Options
	hub  *hub
	end  context.CancelFunc // of everything under way
	ctx  context.Context

	counts  counters
	book    *book
	fitting chan struct{} // holds a token while a circuit is fitted

	mu      sync.Mutex // guards what is below
	saved   saved
	jigs    []*jigEntry
	desk    *desk     // of the jig in use; nil before one is chosen
	active  *activity // has the card; nil while it is free
	live    liveState
	notice  *Notice
	removed []*notebook.Entry // from the notebook, that may be put back
	talk    []string          // the last lines of a command that runs; nil while none does
	answer  *io.PipeWriter    // to it
}

// Enter puts a result into the notebook: which part, with which calibration file (or
// none), from which recordings, the arguments of the command that makes the same of them
// (or none), and what writes its JSON.
type Enter func(part, note, jigFile, calibrationFile string, cal *fixture.Calibration, files, redo []string, write func(io.Writer) error) error

// saved is what a bench remembers beside its jigs.
type saved struct {
	Schema   string       `json:"schema"`
	Cautions *time.Time   `json:"cautions_read"`
	Jig      string       `json:"jig"` // key of the one in use
	Live     LiveSettings `json:"live"`
}

const (
	savedSchema = "wheatear.bench/1"
	savedName   = "bench.json"
)

// Notice is something to tell that no answer could hold.
type Notice struct {
	Time time.Time `json:"time"`
	Text string    `json:"text"`
	Bad  bool      `json:"bad"`
}

// New makes a bench of what its folder holds. Close ends it.
func New(o Options) (*Bench, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.OpenCard == nil {
		o.OpenCard = live.Open
	}
	if o.limits == (limits{}) {
		o.limits = usualLimits()
	}
	if o.Beyond && len(o.Token) < leastToken {
		return nil, fmt.Errorf("page: others can reach this address: a token of %d letters or more is needed", leastToken)
	}
	if err := os.MkdirAll(o.Folder, 0o700); err != nil {
		return nil, err
	}
	b := &Bench{opts: o, hub: newHub(), book: newBook(o.Notebook), fitting: make(chan struct{}, 1)}
	b.ctx, b.end = context.WithCancel(context.Background())
	b.saved = saved{Schema: savedSchema, Live: LiveSettings{At: auto}}
	name := filepath.Join(o.Folder, savedName)
	if err := readJSON(name, &b.saved); err != nil {
		return nil, err
	}
	if b.saved.Schema != savedSchema {
		return nil, fmt.Errorf("page: %s: schema %q, want %q: name another --folder", name, b.saved.Schema, savedSchema)
	}
	var err error
	if b.jigs, err = b.findJigs(); err != nil {
		return nil, err
	}
	if e := b.entry(b.saved.Jig); e != nil {
		b.desk, err = b.openDesk(e)
	}
	return b, err
}

// Close ends what is under way and waits for it. What was measured is kept.
func (b *Bench) Close() {
	b.end()
	b.mu.Lock()
	a := b.active
	b.mu.Unlock()
	if a != nil {
		<-a.done
	}
	b.hub.close()
	b.book.shut()
}

// save keeps what the bench remembers. The lock is held.
func (b *Bench) save() error {
	return writeJSON(filepath.Join(b.opts.Folder, savedName), b.saved)
}

// ReadCautions notes that a person has read the cautions.
func (b *Bench) ReadCautions() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := b.opts.Now()
	b.saved.Cautions = &now
	defer b.changed()
	return b.save()
}

// tell shows a sentence on every page. The lock is not held.
func (b *Bench) tell(text string, bad bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.notice = &Notice{b.opts.Now(), text, bad}
	b.changed()
}
