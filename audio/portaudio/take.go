package portaudio

import (
	"sync/atomic"
	"time"
)

// flags are the status bits of a call, as the library numbers them.
type flags uint32

const (
	inputUnderflow  flags = 1
	inputOverflow   flags = 2
	outputUnderflow flags = 4
	outputOverflow  flags = 8

	reported = inputUnderflow | inputOverflow | outputUnderflow | outputOverflow
)

// take is one recording in the making. The library's threads call its on...
// methods, which copy and count and do nothing else: all memory is there before a
// stream starts, and what they count is handed over by atomic stores. So whoever
// reads up to recorded reads what no thread will write again, even if a thread
// of a stream that could not be closed goes on calling.
type take struct {
	samples   []float32 // interleaved as the device gives them, room for all frames
	inStep    int       // channels of the input stream
	stimulus  []float32
	outStep   int   // channels of the output stream
	outputs   []int // those that play, counted from 0
	now       func() time.Duration
	over      atomic.Bool // nothing more is wanted
	begun     atomic.Bool // the output has begun to play
	recorded  atomic.Int64
	played    int64 // used by the output's thread alone
	in, out   side
	perSecond float64 // frames
}

// newTake makes room for frames of inStep channels.
func newTake(rateHz float64, frames, inStep, outStep int, outputs []int, stimulus []float64) *take {
	began := time.Now()
	t := &take{
		samples: make([]float32, frames*inStep), inStep: inStep,
		stimulus: make([]float32, len(stimulus)), outStep: outStep, outputs: outputs,
		now: func() time.Duration { return time.Since(began) }, perSecond: rateHz,
	}
	for i, x := range stimulus {
		t.stimulus[i] = float32(x)
	}
	return t
}

// onInput takes a block of an input stream. What comes before the output has
// begun is dropped, so that a record begins where the stimulus does.
func (t *take) onInput(in []float32, f flags) {
	if t.over.Load() {
		return
	}
	at := t.recorded.Load()
	t.in.called(t.now(), len(in)/t.inStep, t.perSecond, at, f)
	if t.begun.Load() {
		t.record(in, at)
	}
}

// onOutput fills a block of an output stream.
func (t *take) onOutput(out []float32, f flags) {
	clear(out)
	if t.over.Load() {
		return
	}
	t.out.called(t.now(), len(out)/t.outStep, t.perSecond, t.recorded.Load(), f)
	t.play(out)
	t.begun.Store(true)
}

// onDuplex does both for a stream of both directions.
func (t *take) onDuplex(in, out []float32, f flags) {
	t.onOutput(out, 0) // its flags are those of the one call, counted once
	t.onInput(in, f)
}

// record copies frames behind those that are there, as many as have room.
func (t *take) record(in []float32, at int64) {
	n := copy(t.samples[int(at)*t.inStep:], in)
	t.recorded.Store(at + int64(n/t.inStep))
}

// play copies the next frames of the stimulus to the outputs that play.
func (t *take) play(out []float32) {
	frames := len(out) / t.outStep
	rest := t.stimulus[min(t.played, int64(len(t.stimulus))):]
	for i := range min(frames, len(rest)) {
		for _, ch := range t.outputs {
			out[i*t.outStep+ch] = rest[i]
		}
	}
	t.played += int64(frames)
}

// frames returns how many frames the take has room for.
func (t *take) frames() int { return len(t.samples) / t.inStep }

// copyFrames writes the frames [first, first+n) of the given inputs, counted from
// 1, to dst, which has one slice of at least n for each.
func (t *take) copyFrames(dst [][]float64, inputs []int, first, n int) {
	if n == 0 {
		return
	}
	for k, ch := range inputs {
		from := t.samples[first*t.inStep+ch-1:]
		for i := range n {
			dst[k][i] = float64(from[i*t.inStep])
		}
	}
}
