package fold

import (
	"example.org/wheatear/lockin/internal/phase"
	"runtime"
	"sync"
)

// From this many samples on a record is shared among the cores: reading it then
// takes longer than starting them, and one core alone waits for memory.
const worthSharing = 1 << 20

// mostSharers bounds the cores: memory has no more to give to many.
const mostSharers = 8

// correlateShared cuts x into parts, correlates each on a core of its own and turns
// the sums to the common origin.
func correlateShared[T Sample](dst []complex128, x []T, freqsHz []float64, rateHz float64, parts int) ([]complex128, error) {
	sums := make([][]complex128, parts)
	errs := make([]error, parts)
	cut := func(i int) int { return len(x) / parts * i }
	var wg sync.WaitGroup
	for i := range parts {
		end := len(x)
		if i < parts-1 {
			end = cut(i + 1)
		}
		wg.Go(func() { sums[i], errs[i] = correlateAlone[T](nil, x[cut(i):end], freqsHz, rateHz) })
	}
	wg.Wait()
	if errs[0] != nil {
		return nil, errs[0]
	}
	out, err := correlateAlone(dst, x[:0], freqsHz, rateHz)
	for i, part := range sums {
		for k, s := range part {
			out[k] += s * phase.StepOf(freqsHz[k], rateHz).Times(uint64(cut(i))).Neg().Phasor()
		}
	}
	return out, err
}

// sharers returns on how many cores a record of n samples is correlated.
func sharers(n int) int {
	return max(1, min(runtime.GOMAXPROCS(0), mostSharers, n/worthSharing))
}
