package cli

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/cmd/wheatear/internal/live"
)

// attended is a real card to the program, into which a person puts parts between runs.
// Streams are cut short, so that the person has something to do sooner.
type attended struct {
	card *virtual.Card
	hand func(streaming bool)
}

func (s *attended) Describe() audio.Device { return s.card.Describe() }

func (s *attended) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	return s.RunMonitored(ctx, cfg, stimulus, func(int64, [][]float64) bool { return true })
}

func (s *attended) RunMonitored(ctx context.Context, cfg audio.Config, stimulus []float64, watch audio.Watch) (*audio.Record, error) {
	most := int(1.1 * cfg.RateHz) // four glimpses
	streaming := len(stimulus) > 5*most
	s.hand(streaming)
	if streaming {
		cfg.Frames, stimulus = most, stimulus[:most]
	}
	return s.card.RunMonitored(ctx, cfg, stimulus, watch)
}

// move is what a person does: once this is said, and before a stream or a record.
type move struct {
	said   string
	record bool
	part   string // "" ends the run with ctrl-C
}

// sorts runs a command with a person at the jig.
func (b *desk) sorts(line string, moves ...move) (status int, out, talk string) {
	b.t.Helper()
	ctx, interrupt := context.WithCancel(context.Background())
	defer interrupt()
	var stdout, stderr bytes.Buffer
	heard, runs := 0, 0 // of the talk; of the card
	b.live = &attended{b.card, func(streaming bool) {
		if runs++; runs > 60 {
			interrupt() // it waits for ever
		}
		if len(moves) == 0 || moves[0].record == streaming {
			return
		}
		text := flat(stderr.String()[heard:])
		if !strings.Contains(text, moves[0].said) {
			return
		}
		heard = stderr.Len()
		m := moves[0]
		if moves = moves[1:]; m.part == "" {
			interrupt()
		} else if err := b.card.Insert(m.part); err != nil {
			b.t.Error(err)
		}
	}}
	a := newApp(ctx, strings.NewReader(""), &stdout, &stderr)
	a.openCard = func(_ context.Context, o live.Options) (*live.Session, error) { return live.New(b.live, o), nil }
	status = a.run(strings.Fields(line))
	if len(moves) > 0 {
		b.t.Errorf("nobody asked for %+v", moves)
	}
	return status, stdout.String(), stderr.String()
}

// A person puts parts in and takes them out; one has a bad contact, and what is read of it
// meanwhile is not counted. Ctrl-C keeps the run, and the same command goes on with it: a
// part that is still in is not counted again.
func TestAPersonSorts(t *testing.T) {
	b := newDesk(t)
	const command = "--no-notebook sort --jig real.toml --at 1k --expect 100n/50% --csv run.csv"
	status, out, talk := b.sorts(command,
		move{said: "Put part 1 in.", part: "c100n"},
		move{said: "PASS", part: "open"}, move{part: "r470"},
		move{said: "FAIL", part: "open"}, move{part: "c100n"},
		move{record: true, part: "open"}, // the contact fails as the record begins
		move{said: "Not judged, part 3: it moved while it was read, or has a bad contact", part: "c100n"},
		move{said: "PASS", part: ""},
	)
	if status != 4 || !strings.Contains(out, "3 parts for 100n/50%: 2 passed, 1 failed, 0 undecided") {
		t.Fatalf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, talk, "Before the first tone:", "Put part 1 in. Ctrl-C ends the run.", "1 PASS", "Take it out, and put part 2 in.", "2 FAIL", "put part 3 in.", "Not judged", "3 PASS")

	status, out, talk = b.sorts(command, move{said: "Take out what is in the jig, then put part 4 in.", part: "c100n"},
		move{part: "open"}, move{part: "c100n"}, move{said: "PASS", part: ""})
	if status != 4 || !strings.Contains(out, "4 parts for 100n/50%: 3 passed, 1 failed, 0 undecided") {
		t.Fatalf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, talk, "run.csv holds 3 parts; going on. The last was: 3 PASS", "4 PASS")
	text, err := os.ReadFile("run.csv")
	if err != nil || strings.Count(string(text), "\r\n") != 5 {
		t.Errorf("%v: %s", err, text)
	}
}

// A part that cannot be read is not counted: a person is asked for it once more. After
// --count parts the run ends.
func TestAPersonSortsWhatCannotBeRead(t *testing.T) {
	b := newDesk(t)
	fails := move{record: true, part: "open"}
	status, out, talk := b.sorts("--no-notebook sort --jig real.toml --at 1k --expect 100n/50% --csv run.csv --count 1",
		move{said: "Put part 1 in.", part: "c100n"},
		fails, move{said: "Not judged", part: "c100n"}, fails, move{said: "Not judged", part: "c100n"}, fails,
		move{said: "look after the contacts, and put it in once more.", part: "open"}, move{part: "c100n"},
	)
	if status != 0 || !strings.Contains(out, "1 part for 100n/50%: 1 passed, 0 failed") {
		t.Fatalf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, talk, "Not judged, part 1", "Not judged, part 1", "Not judged, part 1", "look after the contacts", "1 PASS")
}

// Before the first part there is nothing to keep.
func TestAPersonSortsNothing(t *testing.T) {
	b := newDesk(t)
	status, out, talk := b.sorts("--no-notebook sort --jig real.toml --at 1k --expect 100n/50% --csv run.csv", move{said: "Put part 1 in."})
	if status != 1 || out != "" || !strings.Contains(talk, "interrupted") {
		t.Errorf("status %d: %s\n%s", status, out, talk)
	}
}
