package virtual

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/audiotest"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// newCard is a card that must be one.
func newCard(t testing.TB, cfg Config) *Card {
	t.Helper()
	c, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestCardKeepsTheRules(t *testing.T) {
	quick := audiotest.Options{Repeats: true, LongSeconds: 15, CancelAfter: 15 * time.Millisecond}
	t.Run("ideal", func(t *testing.T) {
		audiotest.TestCard(t, func() (audio.Card, error) { return New(Config{}) }, quick)
	})
	t.Run("faults", func(t *testing.T) {
		quick.Repeats = false
		f := everything()
		f.Drops[0].Reported = true
		audiotest.TestCard(t, func() (audio.Card, error) { return New(Config{Jig: TypicalJig(), Faults: f}) }, quick)
	})
}

func TestCardRefuses(t *testing.T) {
	c := newCard(t, Config{})
	cases := []struct {
		cfg  audio.Config
		want error
	}{
		{audio.Config{RateHz: 47999}, audio.ErrRate},
		{audio.Config{Inputs: []int{1, 3}}, audio.ErrChannels},
		{audio.Config{Outputs: []int{3}}, audio.ErrChannels},
	}
	for _, k := range cases {
		rec, err := c.Run(context.Background(), k.cfg, nil)
		var device *audio.DeviceError
		if rec != nil || !errors.Is(err, k.want) || !errors.As(err, &device) {
			t.Errorf("%+v: got %v, want a DeviceError for %v", k.cfg, err, k.want)
		}
	}
	for _, cfg := range []Config{{Jig: Jig{Channels: [2]string{"left", "right"}}}, {Jig: Jig{SourceOhm: math.NaN()}}, {Faults: Faults{Bits: 99}}} {
		if _, err := New(cfg); err == nil {
			t.Errorf("%+v was taken", cfg)
		}
	}
	if _, err := c.Stream(math.NaN()); err == nil {
		t.Error("a rate that is not a number was taken")
	}
}

// A part that cannot be solved is an error of the run, with the part's name.
func TestCardNamesThePart(t *testing.T) {
	tray := &Tray{Parts: []Part{{Name: "wires", Circuit: "R 0 // R 0"}}}
	c := newCard(t, Config{Tray: tray})
	if err := c.Insert("wires"); err != nil {
		t.Fatal(err)
	}
	_, err := c.Run(context.Background(), audio.Config{}, nil)
	if !errors.Is(err, errNetwork) || !strings.Contains(err.Error(), `"wires"`) {
		t.Errorf("got %v", err)
	}
}

func TestStimulusMustBeFinite(t *testing.T) {
	c := newCard(t, Config{})
	for _, v := range []float64{math.NaN(), math.Inf(-1)} {
		stimulus := make([]float64, 3000)
		stimulus[2500] = v
		rec, err := c.Run(context.Background(), audio.Config{Frames: 4000}, stimulus)
		if !errors.Is(err, audio.ErrCutShort) || rec.Frames() != 2048 || !strings.Contains(err.Error(), "2500") {
			t.Errorf("%g: got %v", v, err)
		}
	}
	s, err := c.Stream(48000)
	if err != nil {
		t.Fatal(err)
	}
	if _, err = s.Process(nil, []float64{math.NaN()}); err == nil {
		t.Fatal("taken")
	}
	if _, again := s.Process(nil, []float64{0}); again != err {
		t.Errorf("after a failure: %v", again)
	}
}

func TestInsertAndRemove(t *testing.T) {
	tray := &Tray{Parts: []Part{{Name: "r", Circuit: "R 500"}, {Name: "load", Circuit: "R 123"}, {Name: "bad", Circuit: "R"}}}
	c := newCard(t, Config{Tray: tray})
	ratio := func() float64 {
		t.Helper()
		s, err := c.Stream(48000)
		if err != nil {
			t.Fatal(err)
		}
		y, err := s.Process(nil, slices.Repeat([]float64{0.5}, 4000))
		if err != nil {
			t.Fatal(err)
		}
		return y[len(y)-1] / y[len(y)-2]
	}
	// The load of this tray takes the place of the usual one.
	for name, want := range map[string]float64{"r": 500.0 / 1500, "open": 1, "load": 123.0 / 1123, "short": 0.2e-3 / 1000.0002} {
		if err := c.Insert(name); err != nil || c.Inserted() != name {
			t.Fatalf("%s: %v, %s is in", name, err, c.Inserted())
		}
		if got := ratio(); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: ratio %v, want %v", name, got, want)
		}
	}
	if c.Remove(); c.Inserted() != "open" {
		t.Errorf("after taking it out, %s is in", c.Inserted())
	}
	if err := c.Insert("x"); err == nil || !strings.Contains(err.Error(), "r, load, bad, open, short") || c.Inserted() != "open" {
		t.Errorf("an unknown part: %v, and %s is in", err, c.Inserted())
	}
	if err := c.Insert("bad"); err == nil || !strings.Contains(err.Error(), `"bad"`) {
		t.Errorf("a bad part: %v", err)
	}
}

// Each insertion has a contact of its own, drawn from the seed.
func TestContacts(t *testing.T) {
	j := full(t, Jig{ContactOhm: 1, ContactSpreadOhm: 0.1, FixtureFarad: 1e-12, FixtureSpreadFarad: 0.02e-12})
	c, same := newCard(t, Config{Jig: j, Seed: 3}), newCard(t, Config{Jig: j, Seed: 3})
	sum, squares, strays := 0.0, 0.0, 0.0
	for range 400 {
		if err := errors.Join(c.Insert("open"), same.Insert("open")); err != nil {
			t.Fatal(err)
		}
		if c.in.contactOhm != same.in.contactOhm {
			t.Fatal("the same seed gives another contact")
		}
		d := c.in.contactOhm - 1
		sum, squares, strays = sum+d, squares+d*d, strays+c.in.fixtureFarad*c.in.fixtureFarad
	}
	// 400 values: mean within 3.5·0.1/20, rms within 3.5/√800 = 12 %.
	if math.Abs(sum/400) > 0.0175 || math.Abs(math.Sqrt(squares/400)/0.1-1) > 0.12 || math.Abs(math.Sqrt(strays/400)/0.02e-12-1) > 0.12 {
		t.Errorf("mean off by %g, rms %g ohm and %g F", sum/400, math.Sqrt(squares/400), math.Sqrt(strays/400))
	}
}

// The same seed and the same acts give the same records; the next run, another
// seed, and another number of runs before do not.
func TestDeterminism(t *testing.T) {
	runs := func(seed uint64) [2]*audio.Record {
		c := newCard(t, Config{Jig: TypicalJig(), Faults: everything(), Seed: seed})
		var out [2]*audio.Record
		for i := range out {
			rec, err := c.Run(context.Background(), audio.Config{Frames: 3000}, []float64{0.5, 0.2})
			if err != nil {
				t.Fatal(err)
			}
			out[i] = rec
		}
		return out
	}
	a, b, other := runs(1), runs(1), runs(2)
	for i := range a {
		if !slices.Equal(a[i].Channels[0], b[i].Channels[0]) {
			t.Errorf("run %d differs with the same seed", i+1)
		}
		if slices.Equal(a[i].Channels[0], other[i].Channels[0]) {
			t.Errorf("run %d does not depend on the seed", i+1)
		}
	}
	if slices.Equal(a[0].Channels[0], a[1].Channels[0]) {
		t.Error("two runs have the same noise")
	}
}

// What the record says of itself: resolution, latency, silence, reported drops.
func TestRecordSays(t *testing.T) {
	f := Faults{Bits: 16, LatencyFrames: 100, SilenceFrames: 50, Drops: []Drop{
		{Frame: 300, Frames: 5, Reported: true}, {Frame: 400, Frames: 6, Fill: Zeros, Reported: true}, {Frame: 500, Frames: 7},
		{Frame: 5000, Frames: 7, Reported: true}}}
	c := newCard(t, Config{Faults: f, Name: "cheap card"})
	rec, err := c.Run(context.Background(), audio.Config{Frames: 1000}, []float64{0, 0, 0, 0, 0.9})
	if err != nil {
		t.Fatal(err)
	}
	if rec.Bits != 16 || rec.Source != "cheap card" || rec.RateHz != 48000 {
		t.Errorf("got %d bits from %q at %g Hz", rec.Bits, rec.Source, rec.RateHz)
	}
	want := []audio.Event{{Kind: audio.Gap, Frame: 300, Detail: "5 frames lost"}, {Kind: audio.Overflow, Frame: 400, Detail: "6 frames lost"}}
	if !slices.Equal(rec.Events, want) {
		t.Errorf("events %v", rec.Events)
	}
	peak := 0
	for i, v := range rec.Channels[0] {
		if v > rec.Channels[0][peak] {
			peak = i
		}
	}
	if peak != 4+100+playerFrames {
		t.Errorf("the impulse is heard at %d, want %d", peak, 4+100+playerFrames)
	}
}

// Playing on the other output drives nothing.
func TestOutputs(t *testing.T) {
	c := newCard(t, Config{})
	rec, err := c.Run(context.Background(), audio.Config{Frames: 500, Outputs: []int{2}}, slices.Repeat([]float64{0.5}, 200))
	if err != nil || rms(rec.Channels[0]) != 0 {
		t.Errorf("rms %g, %v", rms(rec.Channels[0]), err)
	}
}

func BenchmarkCard(b *testing.B) {
	c := newCard(b, Config{Jig: TypicalJig(), Faults: TypicalFaults(1), Tray: &Tray{Parts: []Part{{Name: "film", Circuit: "C 1u + R 0.2 + L 15n"}}}})
	if err := c.Insert("film"); err != nil {
		b.Fatal(err)
	}
	stimulus := slices.Repeat([]float64{0.1, 0.2, -0.3}, 16000)
	for b.Loop() {
		if _, err := c.Run(context.Background(), audio.Config{Frames: 48000}, stimulus); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "x-realtime")
}

// speed is what is promised of a usual jig with a linear part on one core. The
// test asks for half of it, since other tests run beside it.
const speed = 20

func TestSpeed(t *testing.T) {
	c := newCard(t, Config{Jig: TypicalJig()})
	best := time.Hour
	for range 3 {
		began := time.Now()
		if _, err := c.Run(context.Background(), audio.Config{Frames: 24000}, slices.Repeat([]float64{0.1, -0.3}, 12000)); err != nil {
			t.Fatal(err)
		}
		best = min(best, time.Since(began))
	}
	times := 0.5 / best.Seconds()
	t.Logf("%.0f times real time", times)
	if times < speed/2 && !raceEnabled {
		t.Errorf("%.1f times real time, %d are promised", times, speed)
	}
}

func ExampleCard() {
	tray, err := ParseTray("tray.toml", []byte(`
[[part]]
name = "half"
circuit = "R 1k"
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	card, err := New(Config{Tray: tray})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := card.Insert("half"); err != nil {
		fmt.Println(err)
		return
	}
	steady := slices.Repeat([]float64{0.8}, 1000)
	rec, err := card.Run(context.Background(), audio.Config{Frames: 1000}, steady)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: total %.4f, part %.4f\n", card.Inserted(), rec.Channels[0][999], rec.Channels[1][999])
	// Output:
	// half: total 0.8000, part 0.4000
}
