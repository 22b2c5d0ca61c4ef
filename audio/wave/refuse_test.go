package wave

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// TestRefuse checks the cause, the place and what is said of files that cannot be read.
func TestRefuse(t *testing.T) {
	f16, data := ck("fmt ", stereo(1, 16).body()), ck("data", make([]byte, 8))
	with := func(change func(*fields)) []byte {
		f := stereo(1, 16)
		change(&f)
		return riff(ck("fmt ", f.body()), data)
	}
	ext := func(e []byte) []byte {
		return with(func(f *fields) { f.tag, f.ext = 0xFFFE, e })
	}
	for _, c := range []struct {
		name   string
		file   []byte
		cause  error
		offset int64
		says   string
	}{
		{"nothing", nil, ErrNotWave, 0, "empty"},
		{"text", []byte("frequency,impedance\n"), ErrNotWave, 0, "begins with bytes 66726571"},
		{"two bytes", []byte("RI"), ErrNotWave, 0, "5249"},
		{"another kind of RIFF", []byte("RIFF\x04\x00\x00\x00AVI "), ErrNotWave, 8, `"AVI "`},
		{"big-endian", append([]byte("RIFX"), riff(f16, data)[4:]...), ErrNotWave, 0, "RIFX"},
		{"FLAC", []byte("fLaC\x00\x00\x00\x22 and more"), ErrNotWave, 0, "FLAC"},
		{"cut in the first header", []byte("RIFF\x00\x00\x00\x00WA"), ErrNotWave, 10, "after 10 bytes"},
		{"no chunks", riff(), ErrNoData, 12, "without a format chunk"},
		{"no data", riff(f16), ErrNoData, 36, "after its header"},
		{"cut in the header of a chunk", riff(f16, data)[:40], ErrNoData, 36, "header of a chunk"},
		{"cut in the format chunk", riff(f16)[:30], ErrNoData, 12, "after 10 of the 16 bytes"},
		{"cut in a chunk", riff(f16, ckSized("LIST", make([]byte, 10), 1000)), ErrNoData, 36, "within the 1000 bytes"},
		{"no data behind a long chunk", riff(ck("JUNK", make([]byte, 9001)), f16), ErrNoData, 12 + 9010 + 24, "after its header"},
		{"data before the format", riff(data, f16), ErrNoFormat, 12, "no format chunk"},
		{"no name", riff(f16, make([]byte, 8), data), ErrNoData, 36, "found bytes 00000000"},
		{"open size of another chunk", riff(f16, ckSized("LIST", nil, open32), data), ErrNoData, 36, "left open"},
		{"open size of a chunk that ds64 does not list", riffSized("RF64", open32, ck("ds64", sizes64(0, 8, 2)), ckSized("LIST", nil, open32), f16, data),
			ErrNoData, 48, "left open"},
		{"short format chunk", riff(ck("fmt ", make([]byte, 14)), data), ErrFormat, 12, "14 bytes"},
		{"no channels", with(func(f *fields) { f.channels = 0 }), ErrFormat, 12, "no channels"},
		{"no rate", with(func(f *fields) { f.rate = 0 }), ErrFormat, 12, "0 Hz"},
		{"rate of 4.29 GHz", with(func(f *fields) { f.rate = 4294967295 }), ErrFormat, 12, "4294967295 Hz"},
		{"rate of 3 MHz", with(func(f *fields) { f.rate = 3000000 }), ErrFormat, 12, "3000000 Hz"},
		{"rate of 7 Hz", with(func(f *fields) { f.rate = 7 }), ErrFormat, 12, "7 Hz"},
		{"65535 channels", with(func(f *fields) { f.channels = 65535 }), ErrFormat, 12, "65535 channels"},
		{"no bits", with(func(f *fields) { f.bits = 0 }), ErrFormat, 12, "0 bits per sample"},
		{"wide integers", with(func(f *fields) { f.bits = 64 }), ErrUnsupported, 12, "64 bit integers"},
		{"half floats", with(func(f *fields) { f.tag = 3 }), ErrUnsupported, 12, "16 bit floating"},
		{"24 bit floats", with(func(f *fields) { f.tag, f.bits = 3, 24 }), ErrUnsupported, 12, "24 bit floating"},
		{"mu-law", with(func(f *fields) { f.tag, f.bits = 7, 8 }), ErrUnsupported, 12, "mu-law"},
		{"a tag without a name", with(func(f *fields) { f.tag = 0x1234 }), ErrUnsupported, 12, "0x1234"},
		{"short extension", ext(make([]byte, 10)), ErrFormat, 12, "28 bytes"},
		{"sub-format of zeros", ext(extension(16, strings.Repeat("\x00", 16))), ErrUnsupported, 12, strings.Repeat("0", 32)},
		{"sub-format A-law", ext(extension(16, "\x06"+guidPCM[1:])), ErrUnsupported, 12, "A-law"},
		{"another family of sub-formats", ext(extension(16, guidPCM[:15]+"\x72")), ErrUnsupported, 12, "9b72"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for how, r := range ways(c.file) {
				_, err := NewReader(r)
				var at *FormatError
				if !errors.As(err, &at) || !errors.Is(err, c.cause) {
					t.Fatalf("%s: error %v, want a FormatError for %v", how, err, c.cause)
				}
				if at.Offset != c.offset && !(how != "seeking" && c.cause == ErrNoData) {
					t.Errorf("%s: %v: at byte %d, want %d", how, err, at.Offset, c.offset)
				}
				if !strings.Contains(err.Error(), c.says) || !strings.HasPrefix(err.Error(), "wave: byte ") {
					t.Errorf("%s: error %q does not say %q", how, err, c.says)
				}
			}
		})
	}
}

var errBroken = errors.New("the cable was pulled")

// TestReaderFails gives every failure of the source back, wherever it comes, and
// never takes it for the end of the file.
func TestReaderFails(t *testing.T) {
	file := riff(ck("JUNK", make([]byte, 9001)), ck("fmt ", stereo(1, 16).body()), ck("data", pcm(sine(2, 100), 16, 16)))
	for n := range len(file) {
		r := io.MultiReader(bytes.NewReader(file[:n]), iotest.ErrReader(errBroken))
		if rec, err := ReadAll(r, nil); !errors.Is(err, errBroken) {
			t.Fatalf("failing at byte %d: record %v, error %v", n, rec, err)
		}
	}
}

// TestFramesBeforeAFailure delivers what came before it.
func TestFramesBeforeAFailure(t *testing.T) {
	file := riff(ck("fmt ", stereo(1, 16).body()), ck("data", pcm(sine(2, 100), 16, 16)))
	r, err := NewReader(io.MultiReader(bytes.NewReader(file[:44+4*30+2]), iotest.ErrReader(errBroken)))
	if err != nil {
		t.Fatal(err)
	}
	dst := make([]float64, 200)
	if n, err := r.Read(dst); n != 30 || err != nil {
		t.Errorf("first Read gave %d, %v; want 30, nil", n, err)
	}
	if n, err := r.Read(dst); n != 0 || !errors.Is(err, errBroken) {
		t.Errorf("second Read gave %d, %v; want 0 and the failure", n, err)
	}
}

type stuck struct{}

func (stuck) Read([]byte) (int, error) { return 0, nil }

func TestReaderStuck(t *testing.T) {
	file := riff(ck("fmt ", stereo(1, 16).body()), ck("data", make([]byte, 400)))
	r := io.MultiReader(bytes.NewReader(file[:100]), stuck{})
	if _, err := ReadAll(r, nil); !errors.Is(err, io.ErrNoProgress) {
		t.Errorf("a reader that never gives anything: %v, want %v", err, io.ErrNoProgress)
	}
}

// unseekable has a Seek method that fails, as an *os.File on a pipe has.
type unseekable struct{ io.Reader }

func (unseekable) Seek(int64, int) (int64, error) { return 0, errors.New("illegal seek") }

func TestSeekThatFails(t *testing.T) {
	file := riff(ck("JUNK", make([]byte, 9001)), ck("fmt ", stereo(1, 16).body()), ck("data", pcm(base(), 16, 16)))
	rec, err := ReadAll(unseekable{bytes.NewReader(file)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	checkBase(t, rec, testRate, 16)
}

// lame seeks so many times and then no more.
type lame struct {
	*bytes.Reader
	seeks int
}

func (l *lame) Seek(offset int64, whence int) (int64, error) {
	if l.seeks--; l.seeks < 0 {
		return 0, errBroken
	}
	return l.Reader.Seek(offset, whence)
}

// TestSeekBreaksDown reports a seek that fails after others did not: back from the
// end, over a chunk, behind the data and back.
func TestSeekBreaksDown(t *testing.T) {
	file := riff(ck("JUNK", make([]byte, 9001)), ck("fmt ", stereo(1, 16).body()), ck("data", pcm(sine(2, 9001), 16, 16)), ck("LIST", make([]byte, 30)))
	const needed = 6
	for seeks := 2; seeks < needed; seeks++ {
		if _, err := NewReader(&lame{bytes.NewReader(file), seeks}); !errors.Is(err, errBroken) {
			t.Errorf("after %d seeks: %v, want the failure", seeks, err)
		}
	}
	if _, err := NewReader(&lame{bytes.NewReader(file), needed}); err != nil {
		t.Errorf("with %d seeks: %v", needed, err)
	}
}

func TestChooseChannels(t *testing.T) {
	const channels, frames = 6, 50
	samples := sine(channels, frames)
	f := stereo(1, 24)
	f.channels = channels
	six := riff(ck("fmt ", f.body()), ck("data", pcm(samples, 24, 24)))
	f.channels = 1
	one := riff(ck("fmt ", f.body()), ck("data", pcm(sine(1, frames), 24, 24)))
	for _, c := range []struct {
		name string
		file []byte
		ask  []int
		want []int // nil: refused
		says string
	}{
		{"the first two", six, nil, []int{1, 2}, ""},
		{"exchanged", six, []int{2, 1}, []int{2, 1}, ""},
		{"far ones", six, []int{6, 3}, []int{6, 3}, ""},
		{"three", six, []int{1, 3, 5}, []int{1, 3, 5}, ""},
		{"the only one", one, []int{1}, []int{1}, ""},
		{"two of one", one, nil, nil, "the file has one"},
		{"beyond", six, []int{1, 7}, nil, "channel 7 asked for, the file has 6"},
		{"from 0", six, []int{0, 1}, nil, "channel 0"},
		{"twice", six, []int{3, 3}, nil, "channel 3 asked for twice"},
		{"none", six, []int{}, nil, "none asked for"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rec, err := ReadAll(bytes.NewReader(c.file), c.ask)
			if c.want == nil {
				if !errors.Is(err, ErrChannels) || !strings.Contains(err.Error(), c.says) {
					t.Errorf("error %v, want one that says %q", err, c.says)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			for i, ch := range c.want {
				k := 17
				want := sine(channels, frames)[k*channels+ch-1]
				if got := rec.Channels[i][k]; got < want-0x1p-23 || got > want+0x1p-23 {
					t.Errorf("channel %d of the record: frame %d is %v, want %v", i+1, k, got, want)
				}
			}
		})
	}
}
