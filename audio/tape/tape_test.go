package tape

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"example.org/wheatear/audio/virtual"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func card(t testing.TB, f virtual.Faults) *virtual.Card {
	t.Helper()
	c, err := virtual.New(virtual.Config{Jig: virtual.TypicalJig(), Faults: f})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func folder(t testing.TB, dir string) *Folder {
	t.Helper()
	f, err := NewFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

var background = context.Background()

// A kept card is still a card.
func TestKeptCardKeepsTheRules(t *testing.T) {
	dir := t.TempDir()
	o := audiotest.Options{Repeats: true, LongSeconds: 10, CancelAfter: 15 * time.Millisecond}
	audiotest.TestCard(t, func() (audio.Card, error) {
		f, err := NewFolder(dir)
		if err != nil {
			return nil, err
		}
		return f.Keep(card(t, virtual.Faults{})), nil
	}, o)
	all, err := sheets(dir)
	if err != nil || len(all) < 20 {
		t.Errorf("%d runs were kept (%v)", len(all), err)
	}
}

// What is played back is what was recorded, to the last bit, however it ended.
func TestReplay(t *testing.T) {
	for name, f := range map[string]virtual.Faults{
		"integers":       {Bits: 24, Noise: [2]float64{1e-3, 1e-3}},
		"floating point": {Noise: [2]float64{1e-3, 1e-3}, Offset: [2]float64{2, 0}},
		"events":         {Bits: 16, Drops: []virtual.Drop{{Frame: 30, Frames: 5, Reported: true}}},
	} {
		t.Run(name, func(t *testing.T) { replay(t, f) })
	}
}

func replay(t *testing.T, faults virtual.Faults) {
	dir := t.TempDir()
	f := folder(t, dir)
	real := card(t, faults)
	kept := f.Keep(real)
	lost := f.Keep(audiotest.FailAfter(real, 40, audio.ErrLost))
	dead := f.Keep(audiotest.FailAfter(real, 0, audio.ErrBusy))
	stimulus := []float64{0.5, -0.25, 0.125}
	cfg := audio.Config{Frames: 500, Inputs: []int{2, 1}}
	type end struct {
		rec *audio.Record
		err error
	}
	var ends []end
	for i, c := range []audio.Card{kept, lost, dead, kept} {
		f.Label(fmt.Sprintf("run %d", i))
		rec, err := c.Run(background, cfg, stimulus)
		ends = append(ends, end{rec, err})
	}
	if err := f.Err(); err != nil || len(f.Saved()) != 4 || !strings.HasSuffix(f.Saved()[3], "004-run_3.json") {
		t.Fatalf("saved %v, %v", f.Saved(), err)
	}
	p, err := Replay(dir)
	if err != nil {
		t.Fatal(err)
	}
	if d := p.Describe(); d.Name != "simulated jig" {
		t.Errorf("the device is %+v", d)
	}
	for i, want := range ends {
		rec, err := p.Run(background, cfg, stimulus)
		if !reflect.DeepEqual(rec, want.rec) {
			t.Errorf("run %d: got %+v, want %+v", i, rec, want.rec)
		}
		for _, cause := range []error{audio.ErrCutShort, audio.ErrLost, audio.ErrBusy} {
			if errors.Is(err, cause) != errors.Is(want.err, cause) {
				t.Errorf("run %d: got %v, want %v", i, err, want.err)
			}
		}
		if (err == nil) != (want.err == nil) || err != nil && err.Error() != want.err.Error() {
			t.Errorf("run %d: got %v, want %v", i, err, want.err)
		}
	}
	if _, err := p.Run(background, cfg, stimulus); !errors.Is(err, ErrNoMore) || p.Left() != 0 {
		t.Errorf("after the last: %v, %d left", err, p.Left())
	}
}

// The form of the samples is the smallest that loses nothing.
func TestForm(t *testing.T) {
	cases := []struct {
		bits  int
		v     float64
		want  int
		float bool
	}{
		{16, 0.5, 16, false}, {16, -1, 16, false}, {16, 1, 32, true}, {24, 1.0 / (1 << 23), 24, false}, {16, 1.0 / (1 << 23), 32, true},
		{0, 0.5, 32, true}, {0, 0.1, 64, true}, {24, 0.1, 64, true}, {0, math.NaN(), 32, true}, {0, math.Inf(1), 32, true},
	}
	for _, c := range cases {
		rec := &audio.Record{RateHz: 48000, Bits: c.bits, Channels: [][]float64{{0, c.v}, {0, 0}}}
		if bits, float := form(rec); bits != c.want || float != c.float {
			t.Errorf("%d bits and %g: kept in %d, %v", c.bits, c.v, bits, float)
		}
	}
}

// Another run than the one that was kept is refused, and the kept one still there.
func TestReplayRefuses(t *testing.T) {
	dir := t.TempDir()
	if _, err := Replay(dir); !errors.Is(err, ErrNoMore) {
		t.Errorf("an empty folder: %v", err)
	}
	if _, err := Replay(filepath.Join(dir, "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no folder: %v", err)
	}
	cfg := audio.Config{Frames: 100}
	if _, err := folder(t, dir).Keep(card(t, virtual.Faults{})).Run(background, cfg, nil); err != nil {
		t.Fatal(err)
	}
	p, err := Replay(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, other := range []audio.Config{{Frames: 101}, {Frames: 100, RateHz: 44100}, {Frames: 100, Inputs: []int{1}}} {
		if rec, err := p.Run(background, other, nil); rec != nil || err == nil || !strings.Contains(err.Error(), "001.json was recorded with") {
			t.Errorf("%+v: %v", other, err)
		}
	}
	if _, err := p.Run(background, cfg, []float64{1}); err == nil {
		t.Error("another stimulus was taken")
	}
	ctx, cancel := context.WithCancel(background)
	cancel()
	if _, err := p.Run(ctx, cfg, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if _, err := p.Run(background, audio.Config{RateHz: -1}, nil); !errors.Is(err, audio.ErrConfig) {
		t.Errorf("bad settings: %v", err)
	}
	cfg.BlockFrames = 7 // is allowed to differ
	if rec, err := p.Run(background, cfg, nil); err != nil || rec.Frames() != 100 {
		t.Errorf("the kept run: %v, %v", rec, err)
	}
}

// A watcher sees a kept run as it would a real one, and may end it earlier.
func TestReplayMonitored(t *testing.T) {
	dir := t.TempDir()
	faults := virtual.Faults{Drops: []virtual.Drop{{Frame: 10, Frames: 1, Reported: true}, {Frame: 90, Frames: 1, Reported: true}}}
	cfg := audio.Config{Frames: 100, BlockFrames: 30}
	kept := folder(t, dir).Keep(card(t, faults)).(audio.Monitor)
	frames := 0
	count := func(first int64, block [][]float64) bool { frames = int(first) + len(block[0]); return frames < 60 }
	if _, err := kept.RunMonitored(background, cfg, nil, func(int64, [][]float64) bool { return true }); err != nil {
		t.Fatal(err)
	}
	p, err := Replay(dir)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := p.RunMonitored(background, cfg, nil, count)
	if !errors.Is(err, audio.ErrStopped) || !errors.Is(err, audio.ErrCutShort) || rec.Frames() != 60 || frames != 60 {
		t.Errorf("got %v, %v", rec.Frames(), err)
	}
	if e := rec.Events; len(e) != 2 || e[0].Frame != 10 || e[1].Kind != audio.Truncated {
		t.Errorf("events %v", e)
	}
	if _, ok := folder(t, dir).Keep(audiotest.Wrap(card(t, faults))).(audio.Monitor); ok {
		t.Error("a card that is no monitor became one")
	}
}

// A folder goes on counting after what is in it.
func TestNumbers(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"007-x.json", "notes.json", "009.wav", "1000.json"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("{}"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	f := folder(t, dir)
	if _, err := f.Keep(card(t, virtual.Faults{})).Run(background, audio.Config{Frames: 10}, nil); err != nil {
		t.Fatal(err)
	}
	if got := f.Saved(); len(got) != 1 || filepath.Base(got[0]) != "1001.json" {
		t.Errorf("saved %v", got)
	}
	p, err := Replay(dir)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.EqualFunc(p.sheets, []string{"007-x.json", "1000.json", "1001.json"}, func(a, b string) bool { return filepath.Base(a) == b }) {
		t.Errorf("order %v", p.sheets)
	}
}

// When the disk fails, the measurement goes on and says so.
func TestCannotKeep(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "gone")
	f := folder(t, dir)
	if err := os.Remove(dir); err != nil {
		t.Fatal(err)
	}
	rec, err := f.Keep(card(t, virtual.Faults{})).Run(background, audio.Config{Frames: 10}, nil)
	if err != nil || rec.Frames() != 10 {
		t.Fatalf("got %v, %v", rec, err)
	}
	if e := rec.Events; len(e) != 1 || e[0].Kind != audio.Remark || !errors.Is(f.Err(), os.ErrNotExist) {
		t.Errorf("events %v, error %v", e, f.Err())
	}
	if _, err := NewFolder(filepath.Join(os.DevNull, "x")); err == nil {
		t.Error("a folder within a device was made")
	}
}

// Files that were tampered with are errors that name the file.
func TestLoadRefuses(t *testing.T) {
	dir := t.TempDir()
	if _, err := folder(t, dir).Keep(card(t, virtual.Faults{})).Run(background, audio.Config{Frames: 10}, nil); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "001.json")
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for from, to := range map[string]string{
		`"001.wav"`: `"../001.wav"`, `"frames": 10,
  "source"`: `"frames": 11, "source"`, "wheatear.run/1": "wheatear.run/9", "{": "[", `"001.wav" `: "", "001.wav": "002.wav",
	} {
		text := strings.Replace(string(good), from, to, 1)
		if text == string(good) {
			continue
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if _, _, err := Load(path); err == nil || !strings.Contains(err.Error(), "001.json") {
			t.Errorf("%s for %s: %v", to, from, err)
		}
	}
	if _, _, err := Load(filepath.Join(dir, "none.json")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}

func Example() {
	dir, err := os.MkdirTemp("", "runs")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	real, err := virtual.New(virtual.Config{Faults: virtual.Faults{Noise: [2]float64{0.01, 0.01}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	f, err := NewFolder(dir)
	if err != nil {
		fmt.Println(err)
		return
	}
	f.Label("open")
	first, _ := f.Keep(real).Run(context.Background(), audio.Config{Frames: 480}, []float64{0.5})
	player, err := Replay(dir)
	if err != nil {
		fmt.Println(err)
		return
	}
	again, _ := player.Run(context.Background(), audio.Config{Frames: 480}, []float64{0.5})
	fmt.Println(filepath.Base(f.Saved()[0]), slices.Equal(first.Channels[0], again.Channels[0]))
	// Output:
	// 001-open.json true
}
