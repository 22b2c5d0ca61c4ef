package wave

import (
	"encoding/binary"
	"math"
	"math/cmplx"
	"testing"

	"example.org/wheatear/audio"
)

// The files of these tests are put together here byte by byte, on purpose without
// the package's own writer: a mistake in both would cancel.

const (
	testRate = 48000
	guidPCM  = "\x01\x00\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"
	open32   = 0xFFFFFFFF
)

// base is one second of 1 kHz: 0.5 in channel 1, 0.25 at -30 degrees in channel 2.
func base() []float64 {
	out := make([]float64, 0, 2*testRate)
	for i := range testRate {
		wt := 2 * math.Pi * 1000 / testRate * float64(i)
		out = append(out, 0.5*math.Sin(wt), 0.25*math.Sin(wt-math.Pi/6))
	}
	return out
}

// pcm quantises to bits, left justified in a container.
func pcm(samples []float64, bits, container int) []byte {
	out := make([]byte, 0, len(samples)*container/8)
	top := int64(1) << (bits - 1)
	for _, v := range samples {
		q := int64(math.RoundToEven(v * float64(top)))
		q = max(-top, min(top-1, q)) << (container - bits)
		if container == 8 {
			q += 128
		}
		for k := range container / 8 {
			out = append(out, byte(q>>(8*k)))
		}
	}
	return out
}

func float32s(samples []float64) []byte {
	var out []byte
	for _, v := range samples {
		out = binary.LittleEndian.AppendUint32(out, math.Float32bits(float32(v)))
	}
	return out
}

// fields is the content of a format chunk; align and byteRate of -1 are right ones.
type fields struct {
	tag, channels, rate, bits int
	align, byteRate           int
	ext                       []byte
	full                      bool // an extension of no bytes
}

func stereo(tag, bits int) fields {
	return fields{tag: tag, channels: 2, rate: testRate, bits: bits, align: -1, byteRate: -1}
}

func (f fields) body() []byte {
	le := binary.LittleEndian
	if f.align < 0 {
		f.align = f.channels * f.bits / 8
	}
	if f.byteRate < 0 {
		f.byteRate = f.rate * f.align
	}
	b := le.AppendUint16(nil, uint16(f.tag))
	b = le.AppendUint16(b, uint16(f.channels))
	b = le.AppendUint32(b, uint32(f.rate))
	b = le.AppendUint32(b, uint32(f.byteRate))
	b = le.AppendUint16(b, uint16(f.align))
	b = le.AppendUint16(b, uint16(f.bits))
	if f.full || len(f.ext) > 0 {
		b = append(le.AppendUint16(b, uint16(len(f.ext))), f.ext...)
	}
	return b
}

// extension is the usual one: valid bits, front left and right, sub-format.
func extension(valid int, guid string) []byte {
	b := binary.LittleEndian.AppendUint16(nil, uint16(valid))
	return append(binary.LittleEndian.AppendUint32(b, 3), guid...)
}

// ck is a chunk with its true size and, where that is odd, a pad byte.
func ck(id string, body []byte) []byte {
	b := ckSized(id, body, uint32(len(body)))
	if len(body)&1 == 1 {
		b = append(b, 0)
	}
	return b
}

// ckSized is a chunk that claims a size, without a pad byte.
func ckSized(id string, body []byte, size uint32) []byte {
	return append(binary.LittleEndian.AppendUint32([]byte(id), size), body...)
}

func riff(chunks ...[]byte) []byte {
	n := 4
	for _, c := range chunks {
		n += len(c)
	}
	return riffSized("RIFF", uint32(n), chunks...)
}

func riffSized(id string, size uint32, chunks ...[]byte) []byte {
	b := append(binary.LittleEndian.AppendUint32([]byte(id), size), "WAVE"...)
	for _, c := range chunks {
		b = append(b, c...)
	}
	return b
}

// sizes64 is the body of a ds64 chunk without a table.
func sizes64(riff, data, frames uint64) []byte {
	b := binary.LittleEndian.AppendUint64(nil, riff)
	b = binary.LittleEndian.AppendUint64(b, data)
	b = binary.LittleEndian.AppendUint64(b, frames)
	return binary.LittleEndian.AppendUint32(b, 0)
}

// phasor correlates with 1 kHz: exact over the whole periods of the base signal.
func phasor(x []float64) complex128 {
	var sum complex128
	for i, v := range x {
		sum += complex(v, 0) * cmplx.Exp(complex(0, -2*math.Pi*1000/testRate*float64(i)))
	}
	return sum * complex(0, 2/float64(len(x)))
}

// Relative error of the ratio that the file format alone allows. Rounding to steps
// of q = 2^(1-b) has sigma q/sqrt(12); a period has 48 samples and every period is
// rounded alike, so that an axis of an amplitude has q/sqrt(12)*sqrt(2/48) = 0.059 q,
// and the ratio, 0.25 over 0.5, a relative 0.26 q. The figures are 2.4 to 3 sigma.
var ratioTolerance = map[int]float64{8: 5e-3, 16: 2e-5, 24: 1e-7, 32: 1e-7}

// checkBase holds a record against the base signal.
func checkBase(t *testing.T, rec *audio.Record, frames, bits int) {
	t.Helper()
	if rec.Frames() != frames || rec.RateHz != testRate || len(rec.Channels) != 2 {
		t.Fatalf("%d frames of %d channels at %g Hz; want %d of 2 at %d", rec.Frames(), len(rec.Channels), rec.RateHz, frames, testRate)
	}
	u1, u2 := phasor(rec.Channels[0]), phasor(rec.Channels[1])
	want := cmplx.Rect(0.5, -math.Pi/6)
	tol := ratioTolerance[bits]
	if frames != testRate {
		// A last sample missing leaves 1/N of a correlation out.
		tol += 2.0 / testRate
	}
	if err := cmplx.Abs(u2/u1-want) / cmplx.Abs(want); !(err <= tol) {
		t.Errorf("ratio %v, want %v: off by %.2g of %.2g", u2/u1, want, err, tol)
	}
	if err := math.Abs(cmplx.Abs(u1) - 0.5); !(err <= tol) {
		t.Errorf("level %v, want 0.5", cmplx.Abs(u1))
	}
}
