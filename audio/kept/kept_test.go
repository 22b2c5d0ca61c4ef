package kept_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"example.org/wheatear/audio/kept"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/audio/wave"
)

func card(t *testing.T, f virtual.Faults) *virtual.Card {
	t.Helper()
	c, err := virtual.New(virtual.Config{Jig: virtual.TypicalJig(), Faults: f})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func tone(frames int) []float64 {
	out := make([]float64, frames)
	for i := range out {
		out[i] = 0.3 * math.Sin(0.13*float64(i))
	}
	return out
}

func TestKeptCardKeepsTheRules(t *testing.T) {
	audiotest.TestCard(t, func() (audio.Card, error) {
		return kept.Keep(card(t, virtual.Faults{}), t.TempDir()), nil
	}, audiotest.Options{LongSeconds: 60, CancelAfter: 20 * time.Millisecond, Repeats: true})
}

// What is played back is what was recorded: every sample and every event.
func TestReplayIsTheRecord(t *testing.T) {
	faults := map[string]virtual.Faults{
		"24 bit":         {Bits: 24, Noise: [2]float64{1e-5, 1e-5}},
		"12 bit":         {Bits: 12, Noise: [2]float64{1e-3, 1e-3}},
		"floating point": {Noise: [2]float64{1e-5, 1e-5}},
		"with events":    {Bits: 16, Drops: []virtual.Drop{{Frame: 100, Frames: 20, Reported: true}}},
	}
	for name, f := range faults {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "runs")
			keep := kept.Keep(card(t, f), dir)
			back := kept.Replay(dir)
			for range 2 {
				want, err := keep.Run(context.Background(), audio.Config{}, tone(4800))
				if err != nil {
					t.Fatal(err)
				}
				got, err := back.Run(context.Background(), audio.Config{}, tone(4800))
				if err != nil {
					t.Fatal(err)
				}
				if !reflect.DeepEqual(got, want) {
					t.Errorf("played back %d frames, %d bits, %v; recorded %d, %d, %v", got.Frames(), got.Bits, got.Events, want.Frames(), want.Bits, want.Events)
				}
			}
			if back.Left() != 0 {
				t.Errorf("%d runs left", back.Left())
			}
			if _, err := back.Run(context.Background(), audio.Config{}, tone(4800)); !errors.Is(err, kept.ErrNoRun) {
				t.Errorf("a third run of two: %v", err)
			}
		})
	}
}

// A run that was cut short comes back cut short, one that failed comes back failed.
func TestReplayOfTrouble(t *testing.T) {
	for _, frames := range []int{3000, 0} {
		dir := t.TempDir()
		keep := kept.Keep(audiotest.FailAfter(card(t, virtual.Faults{Bits: 24}), frames, audio.ErrLost), dir)
		want, wantErr := keep.Run(context.Background(), audio.Config{}, tone(4800))
		if wantErr == nil {
			t.Fatal("no error to keep")
		}
		got, err := kept.Replay(dir).Run(context.Background(), audio.Config{}, tone(4800))
		if err == nil || !strings.Contains(err.Error(), wantErr.Error()) || errors.Is(err, audio.ErrCutShort) != (frames > 0) {
			t.Errorf("after %d frames: played back %v, kept %v", frames, err, wantErr)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("after %d frames: another record", frames)
		}
	}
}

func TestReplayRefuses(t *testing.T) {
	dir := t.TempDir()
	if _, err := kept.Keep(card(t, virtual.Faults{Bits: 24}), dir).Run(context.Background(), audio.Config{}, tone(4800)); err != nil {
		t.Fatal(err)
	}
	done, cancel := context.WithCancel(context.Background())
	cancel()
	cases := []struct {
		name     string
		ctx      context.Context
		cfg      audio.Config
		stimulus []float64
		want     error
	}{
		{"another rate", context.Background(), audio.Config{RateHz: 96000}, tone(4800), kept.ErrNoRun},
		{"other inputs", context.Background(), audio.Config{Inputs: []int{2, 1}}, tone(4800), kept.ErrNoRun},
		{"another stimulus", context.Background(), audio.Config{Frames: 4800 + 24000}, tone(4000), kept.ErrNoRun},
		{"no settings", context.Background(), audio.Config{RateHz: -1}, tone(4800), audio.ErrConfig},
		{"ended", done, audio.Config{}, tone(4800), context.Canceled},
	}
	p := kept.Replay(dir)
	for _, c := range cases {
		if rec, err := p.Run(c.ctx, c.cfg, c.stimulus); !errors.Is(err, c.want) || rec != nil {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if p.Left() != 1 {
		t.Errorf("%d runs left, want 1: a refused run is not used up", p.Left())
	}
}

func TestReadRefusesWhatDoesNotBelongTogether(t *testing.T) {
	dir := t.TempDir()
	if _, err := kept.Keep(card(t, virtual.Faults{Bits: 24}), dir).Run(context.Background(), audio.Config{}, tone(480)); err != nil {
		t.Fatal(err)
	}
	base := filepath.Join(dir, "run-1")
	doc, err := os.ReadFile(base + ".json")
	if err != nil {
		t.Fatal(err)
	}
	cases := []struct{ name, old, new, want string }{
		{"no JSON", "{", "", "invalid character"},
		{"schema", "wheatear.run/1", "wheatear.run/2", "schema"},
		{"frames", `"frames": 24480,
  "bits"`, `"frames": 24481,
  "bits"`, "belong together"},
		{"nothing", `"record": {`, `"record": null, "was": {`, "neither"},
	}
	for _, c := range cases {
		spoilt := strings.Replace(string(doc), c.old, c.new, 1)
		if spoilt == string(doc) {
			t.Fatalf("%s: %q is not in\n%s", c.name, c.old, doc)
		}
		if err := os.WriteFile(base+".json", []byte(spoilt), 0o666); err != nil {
			t.Fatal(err)
		}
		if _, err := kept.Read(base); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	if _, err := kept.Read(filepath.Join(dir, "missing")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("missing: %v", err)
	}
}

// Numbering goes on behind what is there.
func TestKeepOverwritesNothing(t *testing.T) {
	dir := t.TempDir()
	for range 2 {
		if _, err := kept.Keep(card(t, virtual.Faults{Bits: 24}), dir).Run(context.Background(), audio.Config{}, tone(480)); err != nil {
			t.Fatal(err)
		}
	}
	files, _ := filepath.Glob(filepath.Join(dir, "*"))
	if len(files) != 4 {
		t.Errorf("%d files, want two runs of two: %v", len(files), files)
	}
}

// A run that cannot be kept is no run.
func TestKeepSaysThatItCannot(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	rec, err := kept.Keep(card(t, virtual.Faults{}), file).Run(context.Background(), audio.Config{}, tone(480))
	if err == nil || rec != nil {
		t.Errorf("kept in a file: %v", err)
	}
}

// The WAV alone is an ordinary recording.
func TestKeptFileIsAnOrdinaryRecording(t *testing.T) {
	dir := t.TempDir()
	want, err := kept.Keep(card(t, virtual.Faults{Bits: 16}), dir).Run(context.Background(), audio.Config{}, tone(480))
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(filepath.Join(dir, "run-1.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	got, err := wave.ReadAll(f, nil)
	if err != nil || got.Bits != 16 || !reflect.DeepEqual(got.Channels, want.Channels) {
		t.Errorf("%v, %d bits", err, got.Bits)
	}
}
