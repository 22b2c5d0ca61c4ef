package wave

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"example.org/wheatear/audio"
)

// floatFile is a 32 bit float file with the extension of no bytes.
func floatFile(samples []float64) []byte {
	f := stereo(3, 32)
	f.full = true
	return riff(ck("fmt ", f.body()), ck("data", float32s(samples)))
}

func TestFloat(t *testing.T) {
	rec, err := ReadAll(bytes.NewReader(floatFile(base())), nil)
	if err != nil {
		t.Fatal(err)
	}
	checkBase(t, rec, testRate, 24)
	if rec.Bits != 0 || len(rec.Events) != 0 {
		t.Errorf("bits %d, events %v; want 0 and none", rec.Bits, rec.Events)
	}
}

func TestFloat64Extensible(t *testing.T) {
	samples := sine(2, 100)
	var data []byte
	for _, v := range samples {
		data = binary.LittleEndian.AppendUint64(data, math.Float64bits(v))
	}
	f := stereo(0xFFFE, 64)
	f.ext = extension(64, "\x03"+guidPCM[1:])
	r, err := NewReader(bytes.NewReader(riff(ck("fmt ", f.body()), ck("data", data))))
	if err != nil {
		t.Fatal(err)
	}
	got := drain(t, r, 7)
	for i, want := range samples {
		if got[i] != want {
			t.Fatalf("sample %d is %v, want %v", i, got[i], want)
		}
	}
}

// TestFloatBeyondFullScale uses large values as they are, and says so once.
func TestFloatBeyondFullScale(t *testing.T) {
	loud := base()
	for i := range loud {
		loud[i] *= 4
	}
	rec, err := ReadAll(bytes.NewReader(floatFile(loud)), nil)
	if err != nil {
		t.Fatal(err)
	}
	const tol = 1e-7 // float32 rounds to 2^-24 of each value, averaged over 48000
	if got := cmplx.Abs(phasor(rec.Channels[0])); math.Abs(got-2) > 2*tol {
		t.Errorf("level %v, want 2", got)
	}
	if len(rec.Events) != 1 || rec.Events[0].Kind != audio.Remark || !strings.Contains(rec.Events[0].Detail, "the largest is 2;") {
		t.Errorf("events %v, want one with the largest value, 2", rec.Events)
	}
}

// TestFloatNotFinite hands NaN and infinity on, in their places.
func TestFloatNotFinite(t *testing.T) {
	samples := sine(2, 1000)
	samples[2*400] = math.NaN()
	samples[2*700+1] = math.Inf(-1)
	rec, err := ReadAll(bytes.NewReader(floatFile(samples)), nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range rec.Frames() {
		if got := math.IsNaN(rec.Channels[0][i]); got != (i == 400) {
			t.Errorf("channel 1, frame %d: NaN %t", i, got)
		}
		if got := math.IsInf(rec.Channels[1][i], -1); got != (i == 700) {
			t.Errorf("channel 2, frame %d: -Inf %t", i, got)
		}
	}
}
