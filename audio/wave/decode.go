package wave

import (
	"encoding/binary"
	"math"
)

// Scales of left-justified integers; powers of two, so that every product is exact.
const (
	scale8  = 1.0 / (1 << 7)
	scale16 = 1.0 / (1 << 15)
	scale32 = 1.0 / (1 << 31)
)

// decoder turns len(dst) samples of src into numbers.
type decoder func(dst []float64, src []byte)

func decoderFor(f Format) decoder {
	if f.Float {
		if f.Container == 64 {
			return decodeFloat64
		}
		return decodeFloat32
	}
	return [...]decoder{1: decode8, 2: decode16, 3: decode24, 4: decode32}[f.Container/8]
}

func decode8(dst []float64, src []byte) {
	src = src[:len(dst)]
	for i := range dst {
		dst[i] = float64(int(src[i])-128) * scale8
	}
}

// decode16 takes four samples with each load.
func decode16(dst []float64, src []byte) {
	for len(dst) >= 4 && len(src) >= 8 {
		u := binary.LittleEndian.Uint64(src)
		dst[0] = float64(int16(u)) * scale16
		dst[1] = float64(int16(u>>16)) * scale16
		dst[2] = float64(int16(u>>32)) * scale16
		dst[3] = float64(int16(u>>48)) * scale16
		dst, src = dst[4:], src[8:]
	}
	for i := range dst {
		dst[i] = float64(int16(binary.LittleEndian.Uint16(src[2*i:]))) * scale16
	}
}

// decode24 takes two samples out of each load of eight bytes. They are left where
// they end up in a 32-bit word, hence its scale.
func decode24(dst []float64, src []byte) {
	for len(dst) >= 2 && len(src) >= 8 {
		u := binary.LittleEndian.Uint64(src)
		dst[0] = float64(int32(u<<8)) * scale32
		dst[1] = float64(int32(u>>16)&^0xFF) * scale32
		dst, src = dst[2:], src[6:]
	}
	for i := range dst {
		b := src[3*i : 3*i+3]
		dst[i] = float64(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)) * scale32
	}
}

func decode32(dst []float64, src []byte) {
	for i := range dst {
		dst[i] = float64(int32(binary.LittleEndian.Uint32(src[4*i:]))) * scale32
	}
}

func decodeFloat32(dst []float64, src []byte) {
	for i := range dst {
		dst[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(src[4*i:])))
	}
}

func decodeFloat64(dst []float64, src []byte) {
	for i := range dst {
		dst[i] = math.Float64frombits(binary.LittleEndian.Uint64(src[8*i:]))
	}
}
