package portaudio

import (
	"slices"
	"testing"
	"time"

	"example.org/wheatear/audio"
)

// at gives a take a clock that the test sets.
func at(t *take) *time.Duration {
	var now time.Duration
	t.now = func() time.Duration { return now }
	return &now
}

// A record begins with the stimulus, and takes no more than it has room for.
func TestTakeRecords(t *testing.T) {
	k := newTake(48000, 5, 2, 1, []int{0}, []float64{0.5})
	in := []float32{1, -1, 2, -2, 3, -3}
	k.onInput(in, 0)
	if n := k.recorded.Load(); n != 0 {
		t.Fatalf("%d frames recorded before the output began", n)
	}
	k.onOutput(make([]float32, 4), 0)
	k.onInput(in, 0)
	k.onInput(in, 0)
	k.onInput(in, 0)
	if n := k.recorded.Load(); n != 5 {
		t.Fatalf("%d frames recorded, there was room for 5", n)
	}
	got := newFrames(3, 4)
	k.copyFrames(got, []int{2, 1, 2}, 1, 4)
	if want := []float64{-2, -3, -1, -2}; !slices.Equal(got[0], want) || !slices.Equal(got[2], want) {
		t.Errorf("input 2 is %v, want %v", got[0], want)
	}
	if want := []float64{2, 3, 1, 2}; !slices.Equal(got[1], want) {
		t.Errorf("input 1 is %v, want %v", got[1], want)
	}
}

// The stimulus goes on from call to call, to the channels named, then silence.
func TestTakePlays(t *testing.T) {
	k := newTake(48000, 5, 1, 3, []int{2, 0}, []float64{0.1, 0.2, 0.3})
	var got []float32
	for range 3 {
		out := []float32{9, 9, 9, 9, 9, 9} // what the library had there before
		k.onOutput(out, 0)
		got = append(got, out...)
	}
	want := []float32{.1, 0, .1, .2, 0, .2, .3, 0, .3, 0, 0, 0, 0, 0, 0, 0, 0, 0}
	if !slices.Equal(got, want) {
		t.Errorf("played %v, want %v", got, want)
	}
	k.over.Store(true)
	k.played = 0
	out := []float32{9, 9, 9}
	k.onOutput(out, 0)
	if !slices.Equal(out, []float32{0, 0, 0}) {
		t.Errorf("a run that is over plays %v", out)
	}
}

// In one stream for both directions the first input heard belongs to the first
// output played.
func TestTakeDuplex(t *testing.T) {
	k := newTake(48000, 2, 1, 1, []int{0}, []float64{1})
	out := make([]float32, 2)
	k.onDuplex([]float32{7, 8}, out, inputOverflow|outputUnderflow)
	if k.recorded.Load() != 2 || out[0] != 1 {
		t.Errorf("%d frames recorded, played %v", k.recorded.Load(), out)
	}
	events := k.events(2)
	if len(events) != 2 || events[0].Kind != audio.Overflow || events[1].Kind != audio.Underflow {
		t.Errorf("one call with two flags gave %v", events)
	}
}

// The thread that calls must not wait for the collector or for anybody.
func TestCallsAllocateNothing(t *testing.T) {
	k := newTake(48000, 1<<20, 2, 2, []int{0, 1}, make([]float64, 5000))
	in, out := make([]float32, 512), make([]float32, 512)
	now := at(k)
	all := reported
	for name, call := range map[string]func(){
		"input":  func() { k.onInput(in, all) },
		"output": func() { k.onOutput(out, all) },
		"duplex": func() { k.onDuplex(in, out, all) },
		"late":   func() { *now += time.Second; k.onDuplex(in, out, 0) },
	} {
		if n := testing.AllocsPerRun(1000, call); n != 0 {
			t.Errorf("%s: %g allocations in each call", name, n)
		}
	}
}

// A call after the end of a run, as a stream that can't be closed may make, must
// not touch what the record was made of.
func TestCallsAfterTheEnd(t *testing.T) {
	k := newTake(48000, 10, 1, 1, []int{0}, nil)
	k.begun.Store(true)
	k.onInput([]float32{1, 2}, 0)
	k.over.Store(true)
	k.onInput([]float32{3, 4}, reported)
	if k.recorded.Load() != 2 || k.samples[2] != 0 || k.in.logged.Load() != 0 {
		t.Error("a call after the end was recorded")
	}
}

// steady lets calls of 480 frames come in time.
func steady(k *take, now *time.Duration, calls int) {
	for range calls {
		*now += 10 * time.Millisecond
		k.onInput(make([]float32, 480), 0)
	}
}

func TestLateCalls(t *testing.T) {
	cases := []struct {
		name    string
		pause   time.Duration
		backlog int // calls that come at once after it
		after   int // calls in time after that
		kind    audio.EventKind
	}{
		{"in time", 150 * time.Millisecond, 15, 50, ""},
		{"kept by the server", 500 * time.Millisecond, 49, 50, audio.Remark},
		{"nothing kept", 500 * time.Millisecond, 0, 50, audio.Gap},
		{"half kept", 500 * time.Millisecond, 25, 50, audio.Gap},
		{"at the end", 500 * time.Millisecond, 0, 3, audio.Remark},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			k := newTake(48000, 1<<20, 1, 1, []int{0}, nil)
			k.begun.Store(true)
			now := at(k)
			steady(k, now, 100)
			*now += c.pause
			for range c.backlog {
				k.onInput(make([]float32, 480), 0)
			}
			steady(k, now, c.after)
			got := k.events(1 << 20)
			if c.kind == "" {
				if len(got) > 0 {
					t.Errorf("got %v, want nothing", got)
				}
				return
			}
			if len(got) != 1 || got[0].Kind != c.kind || got[0].Frame != 48000 {
				t.Errorf("got %v, want one %s at frame 48000", got, c.kind)
			}
		})
	}
}

// Two pauses are judged apart from each other.
func TestTwoLateCalls(t *testing.T) {
	k := newTake(48000, 1<<20, 1, 1, []int{0}, nil)
	k.begun.Store(true)
	now := at(k)
	steady(k, now, 100)
	*now += 300 * time.Millisecond // lost
	steady(k, now, 100)
	*now += 300 * time.Millisecond
	for range 31 {
		k.onInput(make([]float32, 480), 0) // kept
	}
	steady(k, now, 100)
	got := k.events(1 << 20)
	if len(got) != 2 || got[0].Kind != audio.Gap || got[1].Kind != audio.Remark {
		t.Errorf("got %v, want a gap and a remark", got)
	}
	if got := k.events(50000); len(got) != 1 {
		t.Errorf("in a record of 50000 frames got %v, want the first alone", got)
	}
}

// A driver that flags every call is cut off, and the rest counted.
func TestFlagsWithoutEnd(t *testing.T) {
	k := newTake(48000, 1<<20, 1, 1, []int{0}, nil)
	k.begun.Store(true)
	for range 1000 {
		k.onInput(make([]float32, 10), inputOverflow)
	}
	got := k.events(1 << 20)
	if len(got) != logRoom+1 || got[0].Detail != "900 further reports about the input are not listed" {
		t.Errorf("%d events, first %v", len(got), got[0])
	}
	if got[5].Kind != audio.Overflow || got[5].Frame != 40 {
		t.Errorf("the fifth is %v", got[5])
	}
}
