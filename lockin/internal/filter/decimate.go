package filter

// history holds the last values of something that comes in runs, side by side in
// memory: it moves them to the front only when it has come to its end.
type history struct {
	keep int
	v    []float64 // the last len(v) values; at least keep once that many were seen
}

func newHistory(keep, room int) history {
	h := history{keep: keep, v: make([]float64, keep, 2*keep+room)}
	return h
}

func (h *history) reset() {
	h.v = h.v[:h.keep]
	clear(h.v)
}

// grow returns room for n more values, which become the last.
func (h *history) grow(n int) []float64 {
	if len(h.v)+n > cap(h.v) {
		copy(h.v, h.v[len(h.v)-h.keep:])
		h.v = h.v[:h.keep]
	}
	h.v = h.v[:len(h.v)+n]
	return h.v[len(h.v)-n:]
}

// stage2 is the second stage for every phasor, and the counting of both.
type stage2 struct {
	fir    FIR
	every  int64
	re, im []history // [channel·references + reference]
}

func newStage2(f FIR, phasors int) stage2 {
	s := stage2{fir: f, every: int64(f.First * f.Second)}
	for range phasors {
		room := max(64, len(f.H2))
		s.re = append(s.re, newHistory(len(f.H2)-1, room))
		s.im = append(s.im, newHistory(len(f.H2)-1, room))
	}
	return s
}

// Room ends blocks at outputs.
func (s *stage2) Room(frame int64) int {
	return int(min(untilMultiple(frame, s.every), LongestBlock))
}

// Whole says that it does not matter how the frames come: the sums stand where they
// stand.
func (s *stage2) Whole() bool { return false }

func (s *stage2) reset() {
	for i := range s.re {
		s.re[i].reset()
		s.im[i].reset()
	}
}

// push takes a value of the first stage.
func (s *stage2) push(i int, v complex128) {
	s.re[i].grow(1)[0] = real(v)
	s.im[i].grow(1)[0] = imag(v)
}

// output writes the outputs where the block ends an interval.
func (s *stage2) output(b Block) {
	if b.End%s.every != 0 {
		return
	}
	n := len(s.fir.H2)
	for i := range s.re {
		re, im := s.re[i].v, s.im[i].v
		p, q := pair(s.fir.H2, re[len(re)-n:], im[len(im)-n:])
		b.Out[i] = complex(p, q)
	}
}

// toneFIR has the mixer in the taps of the first stage.
type toneFIR struct {
	stage2
	tones Tones
	taps  [][][2]float64 // [reference][frame]: cosine and sine, oldest frame first
	x     []history      // [channel]
	ends  []clock        // [reference] phases where sums of the first stage end
	gaps  gapList
}

// NewToneFIR returns f behind mixers for the tones.
func NewToneFIR(f FIR, tones Tones, channels int) Filter {
	d := &toneFIR{stage2: newStage2(f, channels*len(tones)), tones: tones}
	n := len(f.H1)
	for _, step := range tones {
		taps := make([][2]float64, n)
		for k, h := range f.H1 { // symmetric: as well oldest first
			v := complex(h, 0) * step.Times(uint64(n-1-k)).Phasor()
			taps[k] = [2]float64{real(v), imag(v)}
		}
		d.taps = append(d.taps, taps)
		d.ends = append(d.ends, newClock(step, f.First))
	}
	for range channels {
		d.x = append(d.x, newHistory(n-1, max(n, 4*LongestBlock)))
	}
	d.gaps.keep = int64(n)
	d.gaps.at = make([]gap, 0, n+1)
	return d
}

// Run takes frames up to an output at most.
func (d *toneFIR) Run(b Block) {
	n := len(b.X[0])
	for ch, x := range b.X {
		copy(d.x[ch].grow(n), x)
	}
	d.gaps.add(int64(n))
	first := int64(d.fir.First)
	begin := b.End - int64(n)
	for end := begin + untilMultiple(begin, first); end <= b.End; end += first {
		d.sums(end, int(b.End-end))
	}
	d.output(b)
}

// sums forms those of the first stage over the frames before end, which after frames
// of the history follow.
func (d *toneFIR) sums(end int64, after int) {
	n, refs := len(d.fir.H1), len(d.tones)
	whole := d.gaps.since(after) >= int64(n)
	for r, taps := range d.taps {
		turn := d.ends[r].before(end)
		for ch := range d.x {
			v := d.x[ch].v
			x := v[len(v)-after-n : len(v)-after]
			if whole {
				re, im := dot(x, taps)
				d.push(ch*refs+r, turn*complex(re, im))
			} else {
				d.push(ch*refs+r, d.pieces(x, taps, r, end, after))
			}
		}
	}
}

// pieces is the same for a window with gaps: what lies before a gap is older, by the
// missing frames, than its place says.
func (d *toneFIR) pieces(x []float64, taps [][2]float64, r int, end int64, after int) complex128 {
	sum, to, lost := complex128(0), len(x), int64(0)
	for i := len(d.gaps.at) - 1; i >= -1 && to > 0; i-- {
		from := 0
		if i >= 0 {
			from = max(0, len(x)-int(d.gaps.frames-int64(after)-d.gaps.at[i].frame))
		}
		if from < to {
			// The phase where the whole window would end, had nothing been lost since.
			re, im := dot(x[from:to], taps[from:to])
			if last := end - 1 - lost; last >= 0 {
				sum += d.tones.at(r, last) * complex(re, im)
			} else {
				sum += 2 * d.tones[r].Times(uint64(-last)).Phasor() * complex(re, im)
			}
			to = from
		}
		if i >= 0 {
			lost += d.gaps.at[i].lost
		}
	}
	return sum
}

// Gap notes the missing frames.
func (d *toneFIR) Gap(frames int64) { d.gaps.miss(frames) }

// Reset forgets all frames.
func (d *toneFIR) Reset() {
	d.reset()
	for ch := range d.x {
		d.x[ch].reset()
	}
	d.gaps.at, d.gaps.frames = d.gaps.at[:0], 0
}

// gapList knows where in the last frames some are missing.
type gapList struct {
	keep   int64 // frames of interest
	frames int64 // frames that came
	at     []gap // oldest first
}

type gap struct {
	frame int64 // the number of those that came before it
	lost  int64
}

func (g *gapList) add(n int64) { g.frames += n }

func (g *gapList) miss(n int64) {
	if g.frames == 0 {
		return // nothing is older
	}
	old := 0
	for old < len(g.at) && g.at[old].frame+g.keep <= g.frames {
		old++
	}
	g.at = g.at[:copy(g.at, g.at[old:])]
	if k := len(g.at); k > 0 && g.at[k-1].frame == g.frames {
		g.at[k-1].lost += n
		return
	}
	g.at = append(g.at, gap{g.frames, n})
}

// since returns how many frames came between the last gap and the place that after
// frames follow.
func (g *gapList) since(after int) int64 {
	if len(g.at) == 0 {
		return 1 << 62
	}
	return g.frames - int64(after) - g.at[len(g.at)-1].frame
}

// mixedFIR gets the mixer from outside.
type mixedFIR struct {
	stage2
	refs   int
	mx, my []history // products, real and imaginary, per phasor
}

// NewMixedFIR returns f behind mixers that come with each block.
func NewMixedFIR(f FIR, references, channels int) Filter {
	d := &mixedFIR{stage2: newStage2(f, channels*references), refs: references}
	n := len(f.H1)
	for range channels * references {
		d.mx = append(d.mx, newHistory(n-1, max(n, 4*LongestBlock)))
		d.my = append(d.my, newHistory(n-1, max(n, 4*LongestBlock)))
	}
	return d
}

// Run takes frames up to an output at most.
func (d *mixedFIR) Run(b Block) {
	n := len(b.X[0])
	taps, first := d.fir.H1, int64(d.fir.First)
	begin := b.End - int64(n)
	for r, m := range b.W {
		for ch, x := range b.X {
			i := ch*d.refs + r
			re, im := d.mx[i].grow(n), d.my[i].grow(n)
			for k, v := range x {
				re[k], im[k] = 2*v*m.Re[k], 2*v*m.Im[k]
			}
			for end := begin + untilMultiple(begin, first); end <= b.End; end += first {
				to := len(d.mx[i].v) - int(b.End-end)
				p, q := pair(taps, d.mx[i].v[to-len(taps):to], d.my[i].v[to-len(taps):to])
				d.push(i, complex(p, q))
			}
		}
	}
	d.output(b)
}

// Gap leaves the frames side by side: each product has its own phase.
func (d *mixedFIR) Gap(int64) {}

// Reset forgets all frames.
func (d *mixedFIR) Reset() {
	d.reset()
	for i := range d.mx {
		d.mx[i].reset()
		d.my[i].reset()
	}
}
