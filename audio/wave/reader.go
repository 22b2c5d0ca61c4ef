package wave

import (
	"fmt"
	"io"
	"math"
	"slices"

	"example.org/wheatear/audio"
)

// Reader decodes a file as a stream. It is not safe for concurrent use.
type Reader struct {
	src    *source
	format Format
	decode decoder
	events []audio.Event

	buf    []byte
	left   int64 // bytes of data to come, as the header says; -1 to the end
	frame  int64 // frames delivered
	over   int64 // floating point samples beyond full scale
	peak   float64
	failed error // set once; io.EOF at the end
}

// blockBytes is the size of the one buffer, unless a single frame is larger.
const blockBytes = 64 << 10

// NewReader reads the header and stops before the first sample.
//
// It works on any io.Reader. One that can seek is read from where it stands,
// chunks before the data are then jumped over and the length is checked against
// the real one. How far r has been read afterwards is not specified.
//
// Errors are of type *[FormatError], or come from r.
func NewReader(r io.Reader) (*Reader, error) {
	src, err := newSource(r)
	if err != nil {
		return nil, err
	}
	rd := &Reader{src: src}
	if err := rd.readHeader(); err != nil {
		return nil, err
	}
	rd.decode = decoderFor(rd.format)
	frame := rd.format.frameBytes()
	rd.buf = make([]byte, max(1, blockBytes/frame)*frame)
	return rd, nil
}

// Format returns what the header says of the samples. Frames is the number that
// is really there, and -1 where the file cannot seek, whatever its header says.
func (r *Reader) Format() Format { return r.format }

// Events returns what is worth knowing about the file so far: fields that
// contradict each other, a length taken from the file's end, a file cut short, a
// last frame that is not whole, floating point beyond full scale. The list is
// complete once Read has returned io.EOF.
func (r *Reader) Events() []audio.Event { return slices.Clone(r.events) }

// Read fills dst with interleaved samples, whole frames only, and returns the
// number of frames. There are three cases:
//
//   - n > 0 and a nil error: n frames are in dst. n is less than what fits only
//     if no more follow, or reading failed, which the next call tells;
//   - 0 and io.EOF: the data has ended;
//   - 0 and another error: r failed, or dst has no room for a single frame.
//
// It does not allocate.
func (r *Reader) Read(dst []float64) (frames int, err error) {
	channels := r.format.Channels
	room := len(dst) / channels
	if room == 0 {
		return 0, fmt.Errorf("wave: room for %d samples, a frame has %d: %w", len(dst), channels, io.ErrShortBuffer)
	}
	for frames < room && r.failed == nil {
		frames += r.block(dst[frames*channels : room*channels])
	}
	if frames > 0 {
		return frames, nil
	}
	return 0, r.failed
}

// block decodes at most one buffer into dst and returns the frames.
func (r *Reader) block(dst []float64) int {
	size := r.format.frameBytes()
	want := min(len(dst)/r.format.Channels*size, len(r.buf))
	if r.left >= 0 {
		want = int(min(int64(want), r.left))
	}
	// Less than a frame remains of the declared size: still read, to see how much.
	got, err := r.src.read(r.buf[:want])
	if r.left >= 0 {
		r.left -= int64(got)
	}
	n := got / size
	part := dst[:n*r.format.Channels]
	r.decode(part, r.buf[:n*size])
	if r.format.Float {
		r.watch(part)
	}
	r.frame += int64(n)
	if err == nil && r.left != 0 {
		return n
	}
	r.finish(err, got%size)
	return n
}

// watch counts what exceeds full scale; only floating point can.
func (r *Reader) watch(samples []float64) {
	for _, v := range samples {
		if a := math.Abs(v); a > 1 {
			r.over++
			r.peak = max(r.peak, a)
		}
	}
}

// finish notes how the data ended.
func (r *Reader) finish(err error, rest int) {
	if r.failed = err; err != nil && err != io.EOF {
		return
	}
	r.failed = io.EOF
	if err == io.EOF && r.left > 0 {
		r.event(audio.Truncated, r.frame, "the file ends %d bytes before its header says; %d frames are there and used", r.left, r.frame)
	}
	if rest > 0 {
		r.event(audio.Truncated, r.frame, "the last frame has only %d of %d bytes and is dropped", rest, r.format.frameBytes())
	}
	if r.over > 0 {
		r.event(audio.Remark, -1, "%d samples exceed full scale, the largest is %.4g; used as they are", r.over, r.peak)
	}
}

func (r *Reader) event(kind audio.EventKind, frame int64, format string, args ...any) {
	r.events = append(r.events, audio.Event{Kind: kind, Frame: frame, Detail: fmt.Sprintf(format, args...)})
}
