package filter

// Poles in blocks: what n frames do to the sections is one linear map. The state decays;
// of what comes in, section i has gain^(i+1)·Σ C(age+i, i)·a^age·z at the end. Blocks begin at multiples of the output interval and then every LongestBlock
// frames, wherever the caller cuts the stream, so that no bit depends on the cuts.
type blocks struct {
	poles      Poles
	every      int64
	size       int // frames of a whole block
	full, rest transfer
	gain       [MostPoles]float64 // what comes in counts in each section
	state      [][MostPoles]complex128
}

func newBlocks(p Poles, every, longest, phasors int) blocks {
	b := blocks{poles: p, every: int64(every), size: min(every, longest)}
	gain := 1.0
	for i := range p.N {
		gain *= p.gain
		b.gain[i] = gain
	}
	b.full, b.rest = p.over(b.size), p.over(every%b.size)
	b.state = make([][MostPoles]complex128, phasors)
	return b
}

// Room returns the frames up to the end of the block that frame lies in.
func (b *blocks) Room(frame int64) int {
	at := frame % b.every
	end := min((at/int64(b.size)+1)*int64(b.size), b.every)
	return int(end - at)
}

// Whole says that a part of a block would be another map.
func (b *blocks) Whole() bool { return true }

// Gap leaves the sections as they are.
func (b *blocks) Gap(int64) {}

// Reset puts the sections to rest.
func (b *blocks) Reset() { clear(b.state) }

// transfer returns that of n frames.
func (b *blocks) transfer(n int) transfer {
	switch n {
	case b.size:
		return b.full
	case int(b.every % int64(b.size)):
		return b.rest
	}
	return b.poles.over(n)
}

// advance takes the sections of a phasor through a block: by the transfer, and with
// sums of what came in, turned.
func (b *blocks) advance(at int, t *transfer, turn complex128, in *[2][8]float64) {
	s := &b.state[at]
	tr, ti := real(turn), imag(turn)
	for i := b.poles.N - 1; i >= 0; i-- {
		p, q := in[0][i]*b.gain[i], in[1][i]*b.gain[i]
		re, im := p*tr-q*ti, p*ti+q*tr
		for d := 0; d <= i; d++ {
			re += t[d] * real(s[i-d])
			im += t[d] * imag(s[i-d])
		}
		s[i] = complex(re, im)
	}
}

// output writes the last section of every phasor where the block ends an interval.
func (b *blocks) output(block Block) {
	if block.End%b.every != 0 {
		return
	}
	for i := range b.state {
		block.Out[i] = b.state[i][b.poles.N-1]
	}
}

// toneBlocks has the mixer in its weights, relative to the last frame of a block; the
// phase of that frame is applied to the sums.
type toneBlocks struct {
	blocks
	tones   Tones
	ends    []clock        // [reference] where every block ends an interval
	weights [][][2]float64 // [reference][frame]: a^age·exp(jφ·age)
}

// mostWeights bounds the memory of very many tones, 64 MB, by shorter blocks.
const mostWeights = 1 << 22

// blockFor returns the longest block for a number of tones.
func blockFor(tones int) int {
	return min(LongestBlock, max(ShortestBlock, mostWeights/tones))
}

// NewToneBlocks returns poles behind mixers for the tones.
func NewToneBlocks(p Poles, tones Tones, channels, every int) Filter {
	f := &toneBlocks{blocks: newBlocks(p, every, blockFor(len(tones)), channels*len(tones)), tones: tones}
	for _, step := range tones {
		w := make([][2]float64, f.size)
		for k := range w {
			age := f.size - 1 - k
			turn := complex(p.decay(age), 0) * step.Times(uint64(age)).Phasor()
			w[k] = [2]float64{real(turn), imag(turn)}
		}
		f.weights = append(f.weights, w)
		if f.size == every {
			f.ends = append(f.ends, newClock(step, every))
		}
	}
	return f
}

// Run takes one block.
func (f *toneBlocks) Run(b Block) {
	n := len(b.X[0])
	t := f.transfer(n)
	refs := len(f.tones)
	for r := range f.tones {
		turn := f.turn(r, b.End)
		w := f.weights[r][f.size-n:]
		for ch, x := range b.X {
			in := f.sums(x, w)
			f.advance(ch*refs+r, &t, turn, &in)
		}
	}
	f.output(b)
}

func (f *toneBlocks) turn(r int, end int64) complex128 {
	if f.ends != nil && end%f.every == 0 {
		return f.ends[r].before(end)
	}
	return f.tones.at(r, end-1)
}

func (f *toneBlocks) sums(x []float64, w [][2]float64) (in [2][8]float64) {
	switch {
	case f.poles.N == 1:
		in[0][0], in[1][0] = dot(x, w)
	case f.poles.N <= 4:
		var s [8]float64
		sums4(&s, x, w)
		copy(in[0][:], s[:4])
		copy(in[1][:], s[4:])
	default:
		sums8(&in[0], x, w, 0)
		sums8(&in[1], x, w, 1)
	}
	return in
}

// mixedBlocks takes the mixer from outside.
type mixedBlocks struct {
	blocks
	weights []float64 // a^age
	refs    int
}

// NewMixedBlocks returns poles behind mixers that come with each block.
func NewMixedBlocks(p Poles, references, channels, every int) Filter {
	f := &mixedBlocks{blocks: newBlocks(p, every, LongestBlock, channels*references), refs: references}
	for k := range f.size {
		f.weights = append(f.weights, p.decay(f.size-1-k))
	}
	return f
}

// Run takes one block.
func (f *mixedBlocks) Run(b Block) {
	n := len(b.X[0])
	t := f.transfer(n)
	w := f.weights[f.size-n:]
	for r, m := range b.W {
		for ch, x := range b.X {
			in := f.sums(x, w, m)
			f.advance(ch*f.refs+r, &t, 2, &in)
		}
	}
	f.output(b)
}

func (f *mixedBlocks) sums(x, w []float64, m Mixer) (in [2][8]float64) {
	if f.poles.N <= 4 {
		var s [8]float64
		mixed4(&s, x, m.Re, m.Im, w)
		copy(in[0][:], s[:4])
		copy(in[1][:], s[4:])
		return in
	}
	mixed8(&in[0], x, m.Re, w)
	mixed8(&in[1], x, m.Im, w)
	return in
}
