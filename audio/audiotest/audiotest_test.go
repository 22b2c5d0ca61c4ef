package audiotest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
)

var loopOptions = Options{Repeats: true, LongSeconds: 20, CancelAfter: 25 * time.Millisecond}

func opener(card audio.Card) func() (audio.Card, error) {
	return func() (audio.Card, error) { return card, nil }
}

func TestLoopKeepsTheRules(t *testing.T) {
	TestCard(t, opener(&loop{}), loopOptions)
}

func TestWrappedCardsKeepTheRules(t *testing.T) {
	t.Run("changed", func(t *testing.T) {
		TestCard(t, opener(Wrap(&loop{}, Gap(10, 5), Swap(), Invert(2), Skew(1, 3), Mono())), Options{LongSeconds: 20, CancelAfter: 25 * time.Millisecond})
	})
	t.Run("failing later", func(t *testing.T) {
		TestCard(t, opener(FailAfter(&loop{}, 1<<40, audio.ErrLost)), loopOptions)
	})
}

// Every rule must notice a card that breaks it, and say why it is a rule.
func TestRulesAreBroken(t *testing.T) {
	cases := []struct {
		rule string
		card *loop
		want string // what the message must say
	}{
		{"complete", &loop{tooShort: true}, "were asked for"},
		{"complete", &loop{nilNil: true}, "neither a record nor an error"},
		{"complete", &loop{noSource: true}, "where it is from"},
		{"silence", &loop{ragged: true}, "channel 2 has"},
		{"defaults", &loop{tooShort: true}, "were asked for"},
		{"refuse", &loop{acceptsAll: true}, "no error"},
		{"refuse", &loop{wrongErr: true}, "ErrConfig"},
		{"stimulus kept whole", &loop{scribbles: true}, "changed the stimulus"},
		{"own records", &loop{sharesBuffer: true}, "changed the first record"},
		{"second run", &loop{drifts: true}, "not equal to the first"},
		{"second run", &loop{oneRunOnly: true}, "second run"},
		{"input order", &loop{fixedOrder: true}, "in another order"},
		{"cancelled before", &loop{keepsOnFailure: true}, "beside the error"},
		{"cancelled before", &loop{ignoresCancel: true}, "no error"},
		{"cancelled on the way", &loop{ignoresCancel: true}, "no error"},
		{"cancelled on the way", &loop{losesRecord: true}, "nothing is left"},
		{"cancelled on the way", &loop{forgets: true}, "does not wrap the cause"},
		{"cancelled on the way", &loop{leaks: true}, "leaves goroutines behind"},
		{"deadline", &loop{noEvent: true}, "not Truncated"},
		{"run after cancel", &loop{oneRunOnly: true}, "device gone"},
		{"two at once", &loop{oneRunOnly: true}, "otherwise than with ErrBusy"},
		{"monitor", &loop{showsLess: true}, "a block begins at frame"},
		{"monitor", &loop{swallowsWatch: true}, "shown are not"},
		{"monitor stops", &loop{losesRecord: true}, "nothing is left"},
		{"devices", &loop{namelessDevice: true}, "no name"},
		{"describe", &loop{namelessDevice: true}, "no name"},
	}
	seen := map[string]bool{}
	for _, c := range cases {
		at := slices.IndexFunc(rules, func(r rule) bool { return r.name == c.rule })
		if at < 0 {
			t.Fatalf("no rule %q", c.rule)
		}
		seen[c.rule] = true
		err := rules[at].try(opener(c.card), loopOptions)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), c.rule) {
			t.Errorf("%s: got %v, want it to say %q", c.rule, err, c.want)
		}
	}
	for _, r := range rules {
		if !seen[r.name] {
			t.Errorf("no card here breaks the rule %q", r.name)
		}
	}
}

func TestNoCard(t *testing.T) {
	none := func() (audio.Card, error) { return nil, audio.ErrNoDevice }
	if err := rules[0].try(none, Options{}); !errors.Is(err, audio.ErrNoDevice) {
		t.Errorf("got %v", err)
	}
	bad := Options{Config: audio.Config{RateHz: -1}}
	if err := rules[0].try(opener(&loop{}), bad); !errors.Is(err, audio.ErrConfig) {
		t.Errorf("got %v", err)
	}
}

// A card without the extras is not blamed for it.
func TestNotApplicable(t *testing.T) {
	for _, name := range []string{"monitor", "monitor stops", "devices", "describe"} {
		at := slices.IndexFunc(rules, func(r rule) bool { return r.name == name })
		if err := rules[at].try(opener(Wrap(&loop{})), loopOptions); !errors.Is(err, errNotApplicable) {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

func TestChanges(t *testing.T) {
	cases := []struct {
		name   string
		change Change
		want   [][]float64
	}{
		{"gap", Gap(1, 2), [][]float64{{1, 4, 5}, {10, 40, 50}}},
		{"gap at the end", Gap(4, 9), [][]float64{{1, 2, 3, 4}, {10, 20, 30, 40}}},
		{"gap of all", Gap(-3, 9), [][]float64{{}, {}}},
		{"gap beyond", Gap(7, 2), [][]float64{{1, 2, 3, 4, 5}, {10, 20, 30, 40, 50}}},
		{"swap", Swap(), [][]float64{{10, 20, 30, 40, 50}, {1, 2, 3, 4, 5}}},
		{"invert", Invert(2), [][]float64{{1, 2, 3, 4, 5}, {-10, -20, -30, -40, -50}}},
		{"invert what is not there", Invert(3), [][]float64{{1, 2, 3, 4, 5}, {10, 20, 30, 40, 50}}},
		{"mono", Mono(), [][]float64{{5.5, 11, 16.5, 22, 27.5}, {5.5, 11, 16.5, 22, 27.5}}},
		{"skew", Skew(2, 2), [][]float64{{1, 2, 3, 4, 5}, {0, 0, 10, 20, 30}}},
		{"skew back", Skew(2, -2), [][]float64{{0, 0, 1, 2, 3}, {10, 20, 30, 40, 50}}},
		{"skew of all", Skew(1, 9), [][]float64{{0, 0, 0, 0, 0}, {10, 20, 30, 40, 50}}},
	}
	for _, c := range cases {
		rec := &audio.Record{Channels: [][]float64{{1, 2, 3, 4, 5}, {10, 20, 30, 40, 50}}}
		c.change.Apply(rec)
		if !sameSamples(rec, &audio.Record{Channels: c.want}) {
			t.Errorf("%s gave %v, want %v", c.name, rec.Channels, c.want)
		}
	}
}

// A gap loses what was there, and the run goes on behind it as a real one does.
func TestWrapFillsUp(t *testing.T) {
	ramp := []float64{1, 2, 3, 4, 5, 6, 7, 8}
	rec, err := Wrap(&loop{}, Gap(2, 3)).Run(context.Background(), audio.Config{Frames: 5}, ramp)
	if err != nil || !slices.Equal(rec.Channels[0], []float64{1, 2, 6, 7, 8}) {
		t.Errorf("got %v, %v", rec, err)
	}
}

func TestFailAfter(t *testing.T) {
	card := FailAfter(&loop{}, 3, audio.ErrLost)
	rec, err := card.Run(context.Background(), audio.Config{Frames: 5}, []float64{1, 2, 3, 4})
	var device *audio.DeviceError
	if !errors.Is(err, audio.ErrCutShort) || !errors.As(err, &device) || !errors.Is(err, audio.ErrLost) || rec.Frames() != 3 {
		t.Errorf("got %v, %v", rec, err)
	}
	if rec, err = card.Run(context.Background(), audio.Config{Frames: 3}, nil); err != nil || rec.Frames() != 3 {
		t.Errorf("a run that ends in time: %v, %v", rec, err)
	}
	rec, err = FailAfter(&loop{}, 0, audio.ErrBusy).Run(context.Background(), audio.Config{}, nil)
	if rec != nil || errors.Is(err, audio.ErrCutShort) || !errors.Is(err, audio.ErrBusy) {
		t.Errorf("from the start: %v, %v", rec, err)
	}
	for _, c := range []audio.Card{card, Wrap(&loop{})} {
		if _, err = c.Run(context.Background(), audio.Config{RateHz: -1}, nil); !errors.Is(err, audio.ErrConfig) {
			t.Errorf("bad settings gave %v", err)
		}
	}
}

func ExampleWrap() {
	card := Wrap(&loop{}, Swap(), Invert(1))
	rec, err := card.Run(context.Background(), audio.Config{Frames: 3}, []float64{0.25, 0.5, 1})
	fmt.Println(rec.Channels, err)
	// Output:
	// [[-0.125 -0.25 -0.5] [0.25 0.5 1]] <nil>
}
