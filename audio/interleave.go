package audio

// Interleave appends the frames from first up to and not including end to dst,
// channel after channel within each frame, and returns it. The channels must all
// reach to end. It allocates only where dst lacks the capacity.
func Interleave(dst []float64, channels [][]float64, first, end int) []float64 {
	for i := first; i < end; i++ {
		for _, ch := range channels {
			dst = append(dst, ch[i])
		}
	}
	return dst
}

// Deinterleave appends the samples of interleaved frames to dst, one slice per
// channel. What is left of a frame that is not whole is ignored.
func Deinterleave(dst [][]float64, src []float64) {
	step := len(dst)
	for ch, out := range dst {
		for k := 0; k+step <= len(src); k += step {
			out = append(out, src[k+ch])
		}
		dst[ch] = out
	}
}
