package wave

import (
	"bytes"
	"encoding/binary"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"example.org/wheatear/audio"
)

// TestFilesAsTheyAre reads the base signal out of files such as recorders leave
// them, from a file that can seek, from a pipe and from pipes that dribble.
func TestFilesAsTheyAre(t *testing.T) {
	wave := base()
	p8, p16, p24, p32 := pcm(wave, 8, 8), pcm(wave, 16, 16), pcm(wave, 24, 24), pcm(wave, 32, 32)
	f16, f24 := ck("fmt ", stereo(1, 16).body()), ck("fmt ", stereo(1, 24).body())
	ext := func(bits int, e []byte) []byte {
		f := stereo(0xFFFE, bits)
		f.ext = e
		return ck("fmt ", f.body())
	}
	lying := stereo(1, 16)
	lying.align, lying.byteRate = 2, 96000
	full := stereo(1, 16)
	full.full = true
	fact := ck("fact", binary.LittleEndian.AppendUint32(nil, testRate))
	open16 := ckSized("data", p16, open32)
	remark, cut := audio.Remark, audio.Truncated
	ds := func(data uint64) []byte { return ck("ds64", sizes64(288072, data, testRate)) }
	shortExt := append(stereo(0xFFFE, 24).body(), 0, 0)
	shortExt = append(shortExt, extension(24, guidPCM)...)
	table := append(sizes64(0, 192000, testRate)[:24], "\x01\x00\x00\x00axml\x05\x00\x00\x00\x00\x00\x00\x00"...)

	for _, c := range []struct {
		name   string
		file   []byte
		frames int
		bits   int
		events []audio.EventKind
	}{
		{"16 bit", riff(f16, ck("data", p16)), testRate, 16, nil},
		{"8 bit", riff(ck("fmt ", stereo(1, 8).body()), ck("data", p8)), testRate, 8, nil},
		{"32 bit", riff(ck("fmt ", stereo(1, 32).body()), ck("data", p32)), testRate, 32, nil},
		{"empty extension", riff(ck("fmt ", full.body()), ck("data", p16)), testRate, 16, nil},
		{"sizes left open", riffSized("RIFF", open32, f16, open16), testRate, 16, []audio.EventKind{remark}},
		{"sizes never filled in", riffSized("RIFF", 0, f16, ckSized("data", p16, 0)), testRate, 16, []audio.EventKind{remark}},
		{"only the data size missing", riff(f16, ckSized("data", p16, 0)), testRate, 16, []audio.EventKind{remark}},
		{"the largest size that is one", riff(f16, ckSized("data", p16, open32-1)), testRate, 16, []audio.EventKind{cut}},
		{"chunks of odd size before and between",
			riff(ck("JUNK", make([]byte, 27)), ck("bext", make([]byte, 603)), f16, ck("LIST", []byte("INFOISFT\x03\x00\x00\x00x12")), ck("data", p16)),
			testRate, 16, nil},
		{"a pad byte that is not zero", riff(ckSized("JUNK", []byte("abcx"), 3), f16, ck("data", p16)), testRate, 16, nil},
		{"a pad byte forgotten", riff(ckSized("JUNK", []byte("abc"), 3), f16, ck("data", p16)), testRate, 16, []audio.EventKind{remark}},
		{"chunks after the data", riff(f16, ck("data", p16), ck("LIST", make([]byte, 1001))), testRate, 16, nil},
		{"a second format and a second data chunk", riff(f16, f24, ck("data", p16), ck("data", p16)), testRate, 16, nil},
		{"extensible", riff(ext(24, extension(24, guidPCM)), fact, ck("data", p24)), testRate, 24, nil},
		{"extensible, longer extension", riff(ext(24, append(extension(24, guidPCM), "\xde\xad\xbe\xef"...)), fact, ck("data", p24)), testRate, 24, nil},
		{"24 bit in a container of 32", riff(ext(32, extension(24, guidPCM)), ck("data", pcm(wave, 24, 32))), testRate, 24, nil},
		{"20 bit in a container of 24", riff(ext(24, extension(20, guidPCM)), ck("data", pcm(wave, 20, 24))), testRate, 20, nil},
		{"20 bit without saying so twice", riff(ck("fmt ", fields{tag: 1, channels: 2, rate: testRate, bits: 20, align: 6, byteRate: -1}.body()),
			ck("data", pcm(wave, 20, 24))), testRate, 20, nil},
		{"no valid bits", riff(ext(24, extension(0, guidPCM)), ck("data", p24)), testRate, 24, []audio.EventKind{remark}},
		{"more valid bits than there is room for", riff(ext(24, extension(32, guidPCM)), ck("data", p24)), testRate, 24, []audio.EventKind{remark}},
		{"RF64", riffSized("RF64", open32, ds(288000), f24, ckSized("data", p24, open32)), testRate, 24, nil},
		{"BW64", riffSized("BW64", open32, ds(288000), f24, ckSized("data", p24, open32)), testRate, 24, nil},
		{"RF64, 2^62 bytes", riffSized("RF64", open32, ds(1<<62), f24, ckSized("data", p24, open32)), testRate, 24, []audio.EventKind{cut}},
		{"RF64, 2^64-1 bytes", riffSized("RF64", open32, ds(1<<64-1), f24, ckSized("data", p24, open32)), testRate, 24, []audio.EventKind{cut}},
		{"RF64, never filled in", riffSized("RF64", open32, ds(0), f24, ckSized("data", p24, open32)), testRate, 24, []audio.EventKind{remark}},
		{"RF64, 32-bit size counts", riffSized("RF64", open32, ds(6), f24, ck("data", p24)), testRate, 24, nil},
		{"RF64, table", riffSized("RF64", open32, ck("ds64", table), f16, ckSized("axml", []byte("<a/>.\x00"), open32), open16), testRate, 16, nil},
		{"RF64, ds64 too short", riffSized("RF64", open32, ck("ds64", make([]byte, 8)), f16, open16), testRate, 16, []audio.EventKind{remark, remark}},
		{"RF64, ds64 just long enough", riffSized("RF64", open32, ck("ds64", sizes64(0, 192000, 0)[:16]), f16, open16), testRate, 16, nil},
		{"extension that denies its length", riff(ck("fmt ", shortExt), ck("data", p24)), testRate, 24, []audio.EventKind{remark}},
		{"RF64 without ds64", riffSized("RF64", open32, f16, open16), testRate, 16, []audio.EventKind{remark}},
		{"lying block size and byte rate", riff(ck("fmt ", lying.body()), ck("data", p16)), testRate, 16, []audio.EventKind{remark, remark}},
		{"last frame not whole", riff(f16, ck("data", p16[:len(p16)-1])), testRate - 1, 16, []audio.EventKind{cut}},
		{"cut short", riff(f16, ck("data", p16))[:44+4*47999], testRate - 1, 16, []audio.EventKind{cut}},
		{"cut short within a frame", riff(f16, ck("data", p16))[:44+4*47999+3], testRate - 1, 16, []audio.EventKind{cut, cut}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for how, r := range ways(c.file) {
				rec, err := ReadAll(r, nil)
				if err != nil {
					t.Fatalf("%s: %v", how, err)
				}
				checkBase(t, rec, c.frames, min(24, max(8, c.bits/8*8)))
				if rec.Bits != c.bits {
					t.Errorf("%s: %d bits, want %d", how, rec.Bits, c.bits)
				}
				if got := kinds(rec.Events); !slices.Equal(got, c.events) {
					t.Errorf("%s: events %v, want kinds %v", how, rec.Events, c.events)
				}
			}
		})
	}
}

// ways are readers that give the same bytes.
func ways(file []byte) map[string]io.Reader {
	return map[string]io.Reader{
		"seeking":       bytes.NewReader(file),
		"pipe":          pipe(file),
		"half reads":    iotest.HalfReader(bytes.NewReader(file)),
		"data with EOF": iotest.DataErrReader(pipe(file)),
	}
}

func TestOneByteAtATime(t *testing.T) {
	file := riff(ck("JUNK", make([]byte, 27)), ck("fmt ", stereo(1, 24).body()), ck("data", pcm(sine(2, 500), 24, 24)))
	want, err := ReadAll(bytes.NewReader(file), nil)
	if err != nil {
		t.Fatal(err)
	}
	got, err := ReadAll(iotest.OneByteReader(bytes.NewReader(file)), nil)
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("a reader of single bytes gave %d frames, %v; want %d", got.Frames(), err, want.Frames())
	}
}

// TestRF64Layout pins where the data of an RF64 file starts: EBU Tech 3306-2007.
func TestRF64Layout(t *testing.T) {
	p24 := pcm(base(), 24, 24)
	file := riffSized("RF64", open32, ck("ds64", sizes64(288072, 288000, testRate)),
		ck("fmt ", stereo(1, 24).body()), ckSized("data", p24, open32))
	if len(file) != 288080 || !bytes.Equal(file[80:86], p24[:6]) {
		t.Fatalf("the file of the test is wrong: %d bytes", len(file))
	}
	r, err := NewReader(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	if r.Format().Frames != testRate {
		t.Errorf("%d frames before reading, want %d", r.Format().Frames, testRate)
	}
}

// TestStartsWhereItStands reads a file that begins within another.
func TestStartsWhereItStands(t *testing.T) {
	file := riff(ck("JUNK", make([]byte, 20001)), ck("fmt ", stereo(1, 16).body()), ck("data", pcm(base(), 16, 16)))
	r := bytes.NewReader(append([]byte("something else"), file...))
	if _, err := r.Seek(14, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	rec, err := ReadAll(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	checkBase(t, rec, testRate, 16)
}

// TestWrappedSize recognises a size that went round at 4 GiB by what is left over.
func TestWrappedSize(t *testing.T) {
	p16 := pcm(base(), 16, 16)
	file := riff(ck("fmt ", stereo(1, 16).body()), ckSized("data", p16, 4000))
	rec, err := ReadAll(bytes.NewReader(file), nil)
	if err != nil {
		t.Fatal(err)
	}
	if rec.Frames() != 1000 {
		t.Errorf("%d frames, want 1000", rec.Frames())
	}
	if len(rec.Events) != 1 || !strings.Contains(rec.Events[0].Detail, "188000 bytes after the data") {
		t.Errorf("events %v, want the 188000 bytes left over", rec.Events)
	}
}

func TestEmptyData(t *testing.T) {
	f16 := ck("fmt ", stereo(1, 16).body())
	for name, file := range map[string][]byte{
		"nothing follows": riff(f16, ck("data", nil)),
		"a list follows":  riff(f16, ck("data", nil), ck("LIST", make([]byte, 100))),
		"open":            riff(f16, ckSized("data", nil, open32)),
	} {
		for how, r := range ways(file) {
			if rec, err := ReadAll(r, nil); err != nil || rec.Frames() != 0 {
				t.Errorf("%s, %s: %d frames, %v; want 0, nil", name, how, rec.Frames(), err)
			}
		}
	}
}
