package wave

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"runtime"
	"testing"
	"time"

	"example.org/wheatear/audio"
)

// spent runs f and returns the bytes it allocated in all, and the time it took.
func spent(f func()) (allocated uint64, took time.Duration) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	f()
	took = time.Since(start)
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc, took
}

// hostile are small files that claim to be large ones.
func hostile() map[string][]byte {
	f16, few := ck("fmt ", stereo(1, 16).body()), make([]byte, 16)
	wide := stereo(1, 32)
	wide.channels = 65535
	entries := append(sizes64(1<<63, 1<<63, 1<<63)[:24], "\xff\xff\xff\xff"...)
	return map[string][]byte{
		"4 GB of data":               riffSized("RIFF", open32-1, f16, ckSized("data", few, open32-15)),
		"data to the end":            riffSized("RIFF", open32, f16, ckSized("data", few, open32)),
		"4 GB of format":             riff(ckSized("fmt ", stereo(1, 16).body(), open32-1), ck("data", few)),
		"4 GB of something":          riff(f16, ckSized("JUNK", few, open32-1)),
		"2^63 bytes of data":         riffSized("RF64", open32, ck("ds64", sizes64(1<<63, 1<<63, 1<<63)), f16, ckSized("data", few, open32)),
		"a table of 2^32 entries":    riffSized("RF64", open32, ck("ds64", entries), f16, ckSized("data", few, open32)),
		"4 GB of table":              riffSized("RF64", open32, ckSized("ds64", entries, open32-1), f16),
		"65535 channels of 32 bit":   riff(ck("fmt ", wide.body()), ckSized("data", few, open32-1)),
		"2^63 bytes of another kind": riffSized("RF64", open32, ck("ds64", append(append(sizes64(0, 0, 0)[:24], "\x01\x00\x00\x00axml"...), "\xff\xff\xff\xff\xff\xff\xff\xff"...)), ckSized("axml", few, open32)),
	}
}

// TestHostileSizes answers within a fixed amount of memory, whatever is claimed.
func TestHostileSizes(t *testing.T) {
	// 64 KiB of bytes and as much again in numbers, or one frame of 65535 channels:
	// 256 KiB of bytes, 512 KiB of numbers; three times that is plenty.
	const bound = 3 << 20
	for name, file := range hostile() {
		for how, open := range map[string]func([]byte) io.Reader{
			"seekable": func(b []byte) io.Reader { return bytes.NewReader(b) },
			"pipe":     pipe,
		} {
			var err error
			bytes, took := spent(func() { _, err = ReadAll(open(file), nil) })
			t.Logf("%s, %s: %d bytes of file, %d allocated, %v: %v", name, how, len(file), bytes, took, err)
			if bytes > bound {
				t.Errorf("%s, %s: %d bytes allocated, bound %d", name, how, bytes, bound)
			}
		}
	}
}

// counter counts the bytes that a file that can seek is asked for.
type counter struct {
	*bytes.Reader
	n int
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.n += n
	return n, err
}

// WriteTo is hidden: it would go round the counting.
func (c *counter) WriteTo(io.Writer) (int64, error) { return 0, errors.ErrUnsupported }

// TestLongChunkInFront jumps over 40 MB where it can, and reads through them in
// constant memory where it cannot.
func TestLongChunkInFront(t *testing.T) {
	const long = 40 << 20
	data := pcm(base(), 16, 16)
	file := riff(ck("LIST", make([]byte, long)), ck("fmt ", stereo(1, 16).body()), ck("data", data))

	c := &counter{Reader: bytes.NewReader(file)}
	rec, err := ReadAll(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	checkBase(t, rec, testRate, 16)
	if spare := c.n - len(data); spare > 64<<10 {
		t.Errorf("%d bytes read beside the data, want a few buffers", spare)
	}

	allocated, took := spent(func() {
		if _, err := NewReader(pipe(file)); err != nil {
			t.Fatal(err)
		}
	})
	t.Logf("through a pipe: %d bytes allocated, %v", allocated, took)
	if allocated > 1<<20 {
		t.Errorf("%d bytes allocated on the way", allocated)
	}
}

// endless is a pipe with a header of open sizes and then so many bytes of data.
func endless(header []byte, bytes int64) io.Reader {
	return io.MultiReader(pipe(header), io.LimitReader(ramp{}, bytes))
}

// ramp gives bytes without end.
type ramp struct{}

func (ramp) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(i)
	}
	return len(p), nil
}

func TestReadAllocatesNothing(t *testing.T) {
	for name, f := range map[string]fields{"16": stereo(1, 16), "24": stereo(1, 24), "float": stereo(3, 32)} {
		header := riffSized("RIFF", open32, ck("fmt ", f.body()), ckSized("data", nil, open32))
		r, err := NewReader(endless(header, 1<<40))
		if err != nil {
			t.Fatal(err)
		}
		dst := make([]float64, 2*5000)
		if n := testing.AllocsPerRun(100, func() {
			if n, err := r.Read(dst); n != 5000 || err != nil {
				t.Fatalf("Read gave %d, %v", n, err)
			}
		}); n != 0 {
			t.Errorf("%s: %v allocations per Read, want 0", name, n)
		}
	}
}

func TestWriteAllocatesNothing(t *testing.T) {
	w, err := NewWriter(io.Discard, Format{RateHz: 192000, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	src := sine(2, 20000)
	if n := testing.AllocsPerRun(10, func() {
		if err := w.Write(src); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations per Write, want 0", n)
	}
}

func TestNoRoomForAFrame(t *testing.T) {
	r, err := NewReader(bytes.NewReader(riff(ck("fmt ", stereo(1, 16).body()), ck("data", make([]byte, 8)))))
	if err != nil {
		t.Fatal(err)
	}
	if n, err := r.Read(make([]float64, 1)); n != 0 || !errors.Is(err, io.ErrShortBuffer) {
		t.Errorf("room for half a frame: %d, %v; want %v", n, err, io.ErrShortBuffer)
	}
	if n, err := r.Read(make([]float64, 3)); n != 1 || err != nil {
		t.Errorf("room for a frame and a half: %d, %v; want 1, nil", n, err)
	}
}

// TestManyEmptyChunks walks through a megabyte of headers in small change.
func TestManyEmptyChunks(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector, which short runs serve, allocates for itself")
	}
	const chunks = 1 << 17
	empty := bytes.Repeat(binary.LittleEndian.AppendUint32([]byte("JUNK"), 0), chunks)
	file := riff(empty, ck("fmt ", stereo(1, 16).body()), ck("data", make([]byte, 8)))
	var rec *audio.Record
	var err error
	allocated, took := spent(func() { rec, err = ReadAll(bytes.NewReader(file), nil) })
	if err != nil || rec.Frames() != 2 {
		t.Fatalf("%d frames, %v; want 2", rec.Frames(), err)
	}
	t.Logf("%d chunks: %d bytes allocated, %v", chunks, allocated, took)
	const each = 64 // bytes: the eight of a header and its name, rounded up generously
	if allocated > each*chunks {
		t.Errorf("%d bytes allocated for %d chunks", allocated, chunks)
	}
}
