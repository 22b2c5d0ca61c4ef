package lockin

import (
	"fmt"
	"math"
	"reflect"
)

// Sample is what a record or a stream may be made of.
type Sample interface {
	~float32 | ~float64 | ~int16 | ~int32
}

// Frames is a view of samples of one or more channels; it copies nothing. The zero
// value has no channels.
type Frames[T Sample] struct {
	planes   [][]T
	flat     []T
	channels int
	n        int
}

// Planar takes one slice per channel. It panics where their lengths differ.
func Planar[T Sample](channels ...[]T) Frames[T] {
	f := Frames[T]{planes: channels, channels: len(channels)}
	for i, c := range channels {
		if i == 0 {
			f.n = len(c)
		}
		if len(c) != f.n {
			panic(fmt.Sprintf("lockin: Planar got %d samples in channel %d and %d in channel 1", len(c), i+1, f.n))
		}
	}
	return f
}

// Interleaved takes the samples of all channels of a frame, then those of the next
// frame. It panics where the last frame is not whole, or where channels is not
// positive.
func Interleaved[T Sample](x []T, channels int) Frames[T] {
	if channels < 1 || len(x)%channels != 0 {
		panic(fmt.Sprintf("lockin: Interleaved got %d samples for %d channels, want whole frames", len(x), channels))
	}
	return Frames[T]{flat: x, channels: channels, n: len(x) / channels}
}

// Channels returns how many there are.
func (f Frames[T]) Channels() int { return f.channels }

// Len returns the number of frames.
func (f Frames[T]) Len() int { return f.n }

// channel returns the samples of one channel, copied only where they are interleaved.
func (f Frames[T]) channel(ch int) []T {
	if f.flat == nil {
		return f.planes[ch]
	}
	out := make([]T, f.n)
	for i := range out {
		out[i] = f.flat[i*f.channels+ch]
	}
	return out
}

// copyTo converts frames at…at+n of every channel to dst[ch][to:] and returns how many
// came before the first that is not finite in some channel.
func (f Frames[T]) copyTo(dst [][]float64, to, at, n int, scale float64) int {
	spoilt := false
	for ch, d := range dst {
		if f.flat == nil {
			convert(d[to:to+n], f.planes[ch][at:], scale)
		} else {
			convertStride(d[to:to+n], f.flat[at*f.channels+ch:], f.channels, scale)
		}
		spoilt = spoilt || T(1)/2 != 0 && !allFinite(d[to:to+n]) // integers are finite
	}
	if !spoilt {
		return n
	}
	for i := range n {
		for _, d := range dst {
			if v := d[to+i]; v-v != 0 {
				return i
			}
		}
	}
	return n
}

func convert[T Sample](d []float64, x []T, scale float64) {
	x = x[:len(d)]
	for i, v := range x {
		d[i] = float64(v) * scale
	}
}

func convertStride[T Sample](d []float64, x []T, stride int, scale float64) {
	k := 0
	for i := range d {
		d[i] = float64(x[k]) * scale
		k += stride
	}
}

// allFinite looks for an exponent of ones: its carry reaches the sign.
func allFinite(x []float64) bool {
	const exponent, one = 0x7ff << 52, 1 << 52
	carry := uint64(0)
	for _, v := range x {
		carry |= math.Float64bits(v)&exponent + one
	}
	return carry>>63 == 0
}

// fullScale returns the sample value that is 1 unless told otherwise.
func fullScale[T Sample]() float64 {
	var zero T
	switch reflect.TypeOf(zero).Kind() {
	case reflect.Int16:
		return 1 << 15
	case reflect.Int32:
		return 1 << 31
	}
	return 1
}
