package wave

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/audio"
)

// TestWritePublished writes the files of TestReadPublished byte for byte.
func TestWritePublished(t *testing.T) {
	for _, c := range published {
		t.Run(c.name, func(t *testing.T) {
			if got := encoded(t, c.format, c.samples); !bytes.Equal(got, mustHex(t, c.hex)) {
				t.Errorf("wrote %x, want %s", got, c.hex)
			}
		})
	}
}

// TestWriteRF64Header announces 6 000 000 000 bytes of data: EBU Tech 3306-2007.
func TestWriteRF64Header(t *testing.T) {
	want := mustHex(t, "52463634ffffffff57415645647336341c00000060bca0650100000000bca065010000008017b42c0000000000000000"+
		"666d742028000000feff020000ee0200007017000800200016001800030000000100000000001000800000aa00389b7164617461ffffffff")
	var got bytes.Buffer
	f := Format{RateHz: 192000, Channels: 2, Bits: 24, Container: 32, Frames: 750000000}
	if _, err := NewWriter(&got, f); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got.Bytes(), want) {
		t.Errorf("header %x, want %x", got.Bytes(), want)
	}
	r, err := NewReader(&got)
	if err != nil {
		t.Fatal(err)
	}
	if r.left != 6000000000 {
		t.Errorf("our reader expects %d bytes, want 6000000000", r.left)
	}
}

// TestWriteOpenHeader leaves the sizes open in a pipe.
func TestWriteOpenHeader(t *testing.T) {
	var out bytes.Buffer
	w, err := NewWriter(&out, Format{RateHz: 48000, Channels: 2, Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	want := mustHex(t, "52494646ffffffff57415645666d7420100000000100020080bb000000ee02000400100064617461ffffffff")
	if !bytes.Equal(out.Bytes(), want) {
		t.Errorf("header %x, want %x", out.Bytes(), want)
	}
	samples := sine(2, 100)
	if err := errors.Join(w.Write(samples[:50]), w.Write(samples[50:]), w.Close()); err != nil {
		t.Fatal(err)
	}
	rec, err := ReadAll(&out, nil)
	if err != nil || rec.Frames() != 100 || len(rec.Events) != 1 {
		t.Errorf("read back: %d frames, events %v, %v; want 100 and one event", rec.Frames(), rec.Events, err)
	}
}

// TestWriteSeekable fills the sizes in at Close, into a real file, behind
// something that stands there already.
func TestWriteSeekable(t *testing.T) {
	for _, f := range []Format{
		{RateHz: 48000, Channels: 1, Bits: 8},
		{RateHz: 48000, Channels: 2, Bits: 24},
		{RateHz: 48000, Channels: 3, Bits: 24},
		{RateHz: 48000, Channels: 2, Bits: 32, Float: true},
		{RateHz: 48000, Channels: 1, Bits: 24, Frames: 1000}, // announced, and fewer come
	} {
		t.Run(f.String(), func(t *testing.T) {
			file, err := os.Create(filepath.Join(t.TempDir(), "out.wav"))
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			if _, err := file.WriteString("before"); err != nil {
				t.Fatal(err)
			}
			samples := sine(f.Channels, 101)
			w, err := NewWriter(file, f)
			if err != nil {
				t.Fatal(err)
			}
			if err := errors.Join(w.Write(samples), w.Close(), w.Close()); err != nil {
				t.Fatal(err)
			}
			if at, _ := file.Seek(0, io.SeekCurrent); at%2 != 0 {
				t.Errorf("left at byte %d, want an even length", at)
			}
			if _, err := file.Seek(6, io.SeekStart); err != nil {
				t.Fatal(err)
			}
			r, err := NewReader(file)
			if err != nil {
				t.Fatal(err)
			}
			got := drain(t, r, 10)
			if len(got) != len(samples) || len(r.Events()) != 0 {
				t.Errorf("read back %d samples, events %v; want %d and none", len(got), r.Events(), len(samples))
			}
		})
	}
}

// head keeps the start of what is written and forgets the rest.
type head struct {
	kept [256]byte
	at   int64
	end  int64
}

func (h *head) Write(p []byte) (int, error) {
	if h.at < int64(len(h.kept)) {
		copy(h.kept[h.at:], p)
	}
	h.at += int64(len(p))
	h.end = max(h.end, h.at)
	return len(p), nil
}

func (h *head) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekStart:
		h.at = offset
	case io.SeekCurrent:
		h.at += offset
	case io.SeekEnd:
		h.at = h.end + offset
	}
	return h.at, nil
}

// TestGrowsBeyond4GiB stands on both sides of the largest size that RIFF can
// state. The frames are only counted here; TestSoakBeyond4GiB writes them.
func TestGrowsBeyond4GiB(t *testing.T) {
	f := Format{RateHz: 192000, Channels: 2, Bits: 16}
	last := (int64(math.MaxUint32) - 1 - (80 - 8)) / 4 // frames, behind a header of 80 bytes
	for _, c := range []struct {
		frames int64
		id     string
		slot   string
	}{{last, "RIFF", "JUNK"}, {last + 1, "RF64", "ds64"}} {
		var out head
		w, err := NewWriter(&out, f)
		if err != nil {
			t.Fatal(err)
		}
		w.frames = c.frames
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		if string(out.kept[:4]) != c.id || string(out.kept[12:16]) != c.slot {
			t.Errorf("%d frames: %q with %q, want %q with %q", c.frames, out.kept[:4], out.kept[12:16], c.id, c.slot)
		}
		if out.at != 80+4*c.frames {
			t.Errorf("%d frames: left at byte %d, want %d", c.frames, out.at, 80+4*c.frames)
		}
		r, err := NewReader(pipe(out.kept[:80]))
		if err != nil {
			t.Fatal(err)
		}
		if r.left != 4*c.frames {
			t.Errorf("our reader expects %d bytes, want %d", r.left, 4*c.frames)
		}
	}
}

// TestAnnouncedBeyond4GiB chooses RF64 exactly where the plain sizes end.
func TestAnnouncedBeyond4GiB(t *testing.T) {
	last := (int64(math.MaxUint32) - 1 - (44 - 8)) / 4
	for frames, id := range map[int64]string{last: "RIFF", last + 1: "RF64"} {
		var out head
		if _, err := NewWriter(&out, Format{RateHz: 192000, Channels: 2, Bits: 16, Frames: frames}); err != nil {
			t.Fatal(err)
		}
		if string(out.kept[:4]) != id {
			t.Errorf("%d frames announced: %q, want %q", frames, out.kept[:4], id)
		}
	}
}

// TestHeaderKind uses the plain header only where it can hold the format: the
// WAVE_FORMAT_EXTENSIBLE note (2001) asks for the other one beyond two channels,
// and where a sample does not fill its container.
func TestHeaderKind(t *testing.T) {
	for want, formats := range map[byte][]Format{
		tagPCM:               {{Channels: 1, Bits: 16}, {Channels: 2, Bits: 24}, {Channels: 2, Bits: 32}},
		tagFloat:             {{Channels: 2, Bits: 32, Float: true}, {Channels: 1, Bits: 64, Float: true}},
		tagExtensible & 0xFF: {{Channels: 3, Bits: 16}, {Channels: 2, Bits: 20}, {Channels: 3, Bits: 32, Float: true}, {Channels: 2, Bits: 24, Container: 32}},
	} {
		for _, f := range formats {
			f.RateHz = 48000
			if got := encoded(t, f, nil)[20]; got != want {
				t.Errorf("%v: format tag %#x, want %#x", f, got, want)
			}
		}
	}
}

// TestClipping holds the ends of the integer scale, and the count of what is beyond.
func TestClipping(t *testing.T) {
	var out bytes.Buffer
	w, err := NewWriter(&out, Format{RateHz: 48000, Channels: 1, Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	in := []float64{1, -1, 1.5, -2, math.Inf(1), math.Inf(-1), 0.5 / 32768, 1.5 / 32768, -0.25 / 32768}
	if err := w.Write(in); err != nil {
		t.Fatal(err)
	}
	rec, err := ReadAll(&out, []int{1})
	if err != nil {
		t.Fatal(err)
	}
	const top = 32767.0 / 32768
	// Ties go to even: half a step down to 0, one and a half up to 2.
	if want := []float64{top, -1, top, -1, top, -1, 0, 2.0 / 32768, 0}; !slices.Equal(rec.Channels[0], want) {
		t.Errorf("got %v, want %v", rec.Channels[0], want)
	}
	if w.Clipped() != 4 {
		t.Errorf("%d clipped, want 4", w.Clipped())
	}
}

func TestWriterRefusesFormats(t *testing.T) {
	ok := Format{RateHz: 48000, Channels: 2, Bits: 16}
	for name, c := range map[string]struct {
		change func(*Format)
		cause  error
	}{
		"no channels":        {func(f *Format) { f.Channels = 0 }, ErrFormat},
		"too many channels":  {func(f *Format) { f.Channels = 32768 }, ErrFormat},
		"no rate":            {func(f *Format) { f.RateHz = 0 }, ErrFormat},
		"rate not a number":  {func(f *Format) { f.RateHz = math.NaN() }, ErrFormat},
		"infinite rate":      {func(f *Format) { f.RateHz = math.Inf(1) }, ErrFormat},
		"fractional rate":    {func(f *Format) { f.RateHz = 44100.5 }, ErrFormat},
		"rate too high":      {func(f *Format) { f.RateHz = 2e9 }, ErrFormat},
		"no bits":            {func(f *Format) { f.Bits = 0 }, ErrFormat},
		"wide integers":      {func(f *Format) { f.Bits = 40 }, ErrUnsupported},
		"narrow container":   {func(f *Format) { f.Container = 8 }, ErrFormat},
		"broken container":   {func(f *Format) { f.Container = 20 }, ErrFormat},
		"half floats":        {func(f *Format) { f.Float = true }, ErrUnsupported},
		"frames without end": {func(f *Format) { f.Frames = math.MaxInt64 / 2 }, ErrFormat},
	} {
		f := ok
		c.change(&f)
		var out bytes.Buffer
		if _, err := NewWriter(&out, f); !errors.Is(err, c.cause) || !strings.HasPrefix(err.Error(), "wave: ") {
			t.Errorf("%s: error %v, want %v", name, err, c.cause)
		}
		if out.Len() != 0 {
			t.Errorf("%s: %d bytes written all the same", name, out.Len())
		}
	}
}

func TestWriterRefusesSamples(t *testing.T) {
	open := func(frames int64) *Writer {
		w, err := NewWriter(io.Discard, Format{RateHz: 48000, Channels: 2, Bits: 16, Frames: frames})
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	if err := open(0).Write(make([]float64, 3)); !errors.Is(err, ErrFrames) {
		t.Errorf("a frame and a half: %v", err)
	}
	if err := open(10).Write(make([]float64, 22)); !errors.Is(err, ErrFrames) {
		t.Errorf("more than announced: %v", err)
	}
	if err := open(10).Close(); !errors.Is(err, ErrFrames) {
		t.Errorf("fewer than announced: %v", err)
	}
	w := open(0)
	err := w.Write([]float64{0, 0, 0, math.NaN()})
	if !errors.Is(err, ErrFormat) || !strings.Contains(err.Error(), "frame 1") {
		t.Errorf("not a number: %v", err)
	}
	if again := w.Close(); again != err {
		t.Errorf("Close after a failure: %v, want the failure", again)
	}
	if err := w.Write(nil); !errors.Is(err, ErrClosed) {
		t.Errorf("Write after Close: %v", err)
	}
}

// full is a disk with room for so many bytes.
type full int

func (f *full) Write(p []byte) (int, error) {
	if *f -= full(len(p)); *f < 0 {
		return 0, errBroken
	}
	return len(p), nil
}

// TestDiskFull reports a failure wherever it comes: in the header, the data, the pad byte.
func TestDiskFull(t *testing.T) {
	rec := &audio.Record{RateHz: 48000, Channels: [][]float64{sine(1, 33)}}
	const size = 44 + 33*3 + 1
	for room := range full(size) {
		if _, err := WriteAll(&room, rec, 24, false); !errors.Is(err, errBroken) {
			t.Errorf("room for %d of %d bytes: %v", room, size, err)
		}
	}
	room := full(size)
	if _, err := WriteAll(&room, rec, 24, false); err != nil {
		t.Errorf("room for all: %v", err)
	}
}

// seekOnce can tell where it is but cannot go back.
type seekOnce struct{ bytes.Buffer }

func (s *seekOnce) Seek(_ int64, whence int) (int64, error) {
	if whence == io.SeekCurrent {
		return int64(s.Len()), nil
	}
	return 0, errBroken
}

func TestCloseCannotSeek(t *testing.T) {
	w, err := NewWriter(&seekOnce{}, Format{RateHz: 48000, Channels: 2, Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); !errors.Is(err, errBroken) {
		t.Errorf("Close gave %v, want the failure to seek", err)
	}
}

func TestWriteAllUnequal(t *testing.T) {
	rec := &audio.Record{RateHz: 48000, Channels: [][]float64{make([]float64, 3), make([]float64, 2)}}
	if _, err := WriteAll(io.Discard, rec, 16, false); !errors.Is(err, ErrFrames) {
		t.Errorf("channels of unequal length: %v", err)
	}
}
