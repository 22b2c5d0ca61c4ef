package wave

import (
	"encoding/binary"
	"math"
)

// encode packs src into dst. It returns the number of samples beyond full scale,
// which integers clip, and the index of the first sample that is not a number
// and that integers cannot hold; -1 where there is none.
func (f Format) encode(dst []byte, src []float64) (over, bad int) {
	if !f.Float {
		return f.encodeInt(dst, src)
	}
	for i, v := range src {
		if f.Container == 64 {
			binary.LittleEndian.PutUint64(dst[8*i:], math.Float64bits(v))
		} else {
			binary.LittleEndian.PutUint32(dst[4*i:], math.Float32bits(float32(v)))
		}
	}
	return 0, -1
}

func (f Format) encodeInt(dst []byte, src []float64) (over, bad int) {
	scale := math.Ldexp(1, f.Bits-1)
	shift := f.Container - f.Bits
	for i, v := range src {
		if math.IsNaN(v) {
			return over, i
		}
		if math.Abs(v) > 1 {
			over++
		}
		q := min(max(math.RoundToEven(v*scale), -scale), scale-1)
		n := int32(q) << shift
		switch f.Container {
		case 8:
			dst[i] = byte(n + 128)
		case 16:
			binary.LittleEndian.PutUint16(dst[2*i:], uint16(n))
		case 24:
			dst[3*i], dst[3*i+1], dst[3*i+2] = byte(n), byte(n>>8), byte(n>>16)
		default:
			binary.LittleEndian.PutUint32(dst[4*i:], uint32(n))
		}
	}
	return over, -1
}
