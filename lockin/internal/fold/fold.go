// Package fold correlates samples with tones at about the cost of reading them.
package fold

// Sample is what a record may be made of.
type Sample interface {
	~float32 | ~float64 | ~int16 | ~int32
}

// minFold is the shortest accumulator worth folding into: shorter periods fold
// on a multiple, so that setting up a pass costs little.
const minFold = 240

// Folder adds samples modulo a period. One tiny transform of the folded period
// then gives every tone whose period divides it, exactly.
type Folder[T Sample] struct {
	Acc []float64
	pos int // where in acc the next sample goes
}

func NewFolder[T Sample](period int) *Folder[T] {
	return &Folder[T]{Acc: make([]float64, period*((minFold+period-1)/period))}
}

func (f *Folder[T]) Reset() {
	clear(f.Acc)
	f.pos = 0
}

func (f *Folder[T]) Add(x []T) {
	if f.pos != 0 || len(x) < len(f.Acc) {
		x = x[f.single(x):]
	}
	if n := len(f.Acc); len(x) >= 4*n {
		run := len(x) / 4 / n * n
		foldRuns(f.Acc, x, run)
		x = x[4*run:]
	}
	for len(x) > 0 {
		x = x[f.single(x):]
	}
}

// single adds samples up to the end of the accumulator and returns how many.
func (f *Folder[T]) single(x []T) int {
	acc := f.Acc[f.pos:]
	n := min(len(acc), len(x))
	acc, x = acc[:n], x[:n]
	for i := range acc {
		acc[i] += float64(x[i])
	}
	f.pos += n
	if f.pos == len(f.Acc) {
		f.pos = 0
	}
	return n
}

// foldRuns adds four runs of samples, each a whole number of periods, into acc.
// Four chains of additions run side by side, each run is read from memory in
// one go (jumps from period to period defeat the prefetcher), and acc is loaded
// and stored once in four samples.
func foldRuns[T Sample](acc []float64, x []T, run int) {
	n := len(acc)
	for at := 0; at < run; at += n {
		a := x[at:][:n]
		b := x[at+run:][:n]
		c := x[at+2*run:][:n]
		d := x[at+3*run:][:n]
		for i := range acc {
			acc[i] += (float64(a[i]) + float64(b[i])) + (float64(c[i]) + float64(d[i]))
		}
	}
}
