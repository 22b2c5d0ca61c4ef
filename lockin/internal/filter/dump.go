package filter

// dump averages each tone over whole cycles of it, the last before an output, and
// begins anew: integrate and dump.
type dump struct {
	blocks  // for the places of blocks only
	tones   Tones
	frames  []int          // averaged, per reference; at most every
	weights [][][2]float64 // [reference][frame]: cosine and sine relative to a block's last frame
	sums    []complex128
	count   []int // frames that came, per reference
	end     int64 // frame of the stream after the last
}

// NewDump returns averages over frames[r] frames, none above every.
func NewDump(frames []int, tones Tones, channels, every int) Filter {
	d := &dump{blocks: blocks{every: int64(every), size: min(every, blockFor(len(tones)))}, tones: tones, frames: frames}
	for _, step := range tones {
		w := make([][2]float64, d.size)
		for k := range d.size {
			turn := step.Times(uint64(d.size - 1 - k)).Phasor()
			w[k] = [2]float64{real(turn), imag(turn)}
		}
		d.weights = append(d.weights, w)
	}
	d.sums, d.count = make([]complex128, channels*len(tones)), make([]int, len(tones))
	return d
}

// Run takes one block.
func (d *dump) Run(b Block) {
	n, refs := len(b.X[0]), len(d.tones)
	left := int64(0) // frames from the block's end to the output
	if b.End%d.every != 0 {
		left = untilMultiple(b.End, d.every)
	}
	for r, w := range d.weights {
		m := int(min(int64(n), int64(d.frames[r])-left))
		if m <= 0 {
			continue
		}
		turn := d.tones.at(r, b.End-1)
		d.count[r] += m
		for ch, x := range b.X {
			re, im := dot(x[n-m:], w[d.size-m:])
			d.sums[ch*refs+r] += turn * complex(re, im)
		}
	}
	d.end = b.End
	if left == 0 {
		for i, s := range d.sums {
			b.Out[i] = s * complex(1/float64(d.count[i%refs]), 0)
		}
		d.clear()
	}
}

// Gap shortens the average in which it lies. Where it holds the end of one, the next
// begins anew.
func (d *dump) Gap(frames int64) {
	if frames >= untilMultiple(d.end, d.every) {
		d.clear()
	}
	d.end += frames
}

// Reset begins anew.
func (d *dump) Reset() {
	d.clear()
	d.end = 0
}

func (d *dump) clear() {
	clear(d.sums)
	clear(d.count)
}
