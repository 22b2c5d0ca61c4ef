package wave

import (
	"bytes"
	"encoding/hex"
	"io"
	"testing"
)

// published are whole files, byte for byte. Layout: Multimedia Programming
// Interface and Data Specifications 1.0 (1991); the WAVE_FORMAT_EXTENSIBLE note
// (2001); EBU Tech 3306 Annex A. The byte strings were built from those by hand.
var published = []struct {
	name    string
	hex     string
	format  Format
	samples []float64
}{
	{
		"PCM 16 bit mono",
		"524946462c00000057415645666d7420100000000100010080bb0000007701000200100064617461080000000000ff7f0080ffff",
		Format{RateHz: 48000, Channels: 1, Bits: 16, Container: 16, Frames: 4},
		[]float64{0, 32767.0 / 32768, -1, -1.0 / 32768},
	},
	{
		"PCM 24 bit mono, padded",
		"524946462800000057415645666d7420100000000100010080bb000080320200030018006461746103000000ffff7f00",
		Format{RateHz: 48000, Channels: 1, Bits: 24, Container: 24, Frames: 1},
		[]float64{8388607.0 / 8388608},
	},
	{
		"extensible 24 in 32 bit stereo",
		"524946464400000057415645666d742028000000feff020000ee0200007017000800200016001800030000000100000000001000800000aa00389b71646174610800000000ffff7f00000080",
		Format{RateHz: 192000, Channels: 2, Bits: 24, Container: 32, Frames: 1},
		[]float64{8388607.0 / 8388608, -1},
	},
	{
		"float 32 bit mono",
		"524946463a00000057415645666d7420120000000300010080bb000000ee020004002000000066616374040000000200000064617461080000000000803f000000bf",
		Format{RateHz: 48000, Channels: 1, Bits: 32, Container: 32, Float: true, Frames: 2},
		[]float64{1, -0.5},
	},
}

func mustHex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestReadPublished(t *testing.T) {
	for _, c := range published {
		t.Run(c.name, func(t *testing.T) {
			r, err := NewReader(bytes.NewReader(mustHex(t, c.hex)))
			if err != nil {
				t.Fatal(err)
			}
			if r.Format() != c.format {
				t.Errorf("format %+v, want %+v", r.Format(), c.format)
			}
			got := make([]float64, len(c.samples)+c.format.Channels)
			n, err := r.Read(got)
			if err != nil || n != int(c.format.Frames) {
				t.Fatalf("Read gave %d frames, %v; want %d", n, err, c.format.Frames)
			}
			for i, want := range c.samples {
				if got[i] != want {
					t.Errorf("sample %d is %v, want %v", i, got[i], want)
				}
			}
			if n, err := r.Read(got); n != 0 || err != io.EOF {
				t.Errorf("Read at the end gave %d, %v; want 0, EOF", n, err)
			}
			if len(r.Events()) != 0 {
				t.Errorf("events of a faultless file: %v", r.Events())
			}
		})
	}
}
