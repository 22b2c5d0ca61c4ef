package record

import (
	"math"
	"math/cmplx"
)

// trackCapacity is how many phasors a series keeps for each channel.
const trackCapacity = 4096

// phasorSeries keeps the phasors of consecutive segments of one tone in bounded
// memory. Each entry stands for span segments and refers to their middle; when
// the series is full, neighbours are joined and span doubles.
type phasorSeries struct {
	channels int
	span     int
	z        []complex128 // entry by entry, channel by channel
	weight   []float64    // segments that entry holds
	open     []complex128 // sum for the entry being filled, turned to its middle
	openFill int          // segments of the open entry so far
	openHeld float64      // of which were used
	omega    float64      // rad per segment by which a joined entry was turned
	count    int          // segments used
	previous []complex128 // the last segment, if it was used
	lag      complex128   // Σ z[s+1]·conj(z[s])
	power    float64      // Σ |z[s]|² over the same pairs
	pairs    float64
}

func newPhasorSeries(channels int) *phasorSeries {
	return &phasorSeries{
		channels: channels, span: 1,
		z: make([]complex128, 0, trackCapacity*channels), weight: make([]float64, 0, trackCapacity),
		open: make([]complex128, channels), previous: make([]complex128, 0, channels),
	}
}

// slots returns how many segments the complete entries stand for.
func (s *phasorSeries) slots() int { return len(s.weight) * s.span }

func (s *phasorSeries) full() bool { return len(s.weight) == trackCapacity }

// add takes the phasors of a segment, or keeps its place if there are none.
func (s *phasorSeries) add(z []complex128, used bool) {
	if used {
		s.compare(z)
		s.count++
		turn := cmplx.Rect(1, -s.omega*(float64(s.openFill)-float64(s.span-1)/2))
		for ch, v := range z {
			s.open[ch] += v * turn
		}
		s.openHeld++
	} else {
		s.previous = s.previous[:0]
	}
	if s.openFill++; s.openFill < s.span {
		return
	}
	for _, v := range s.open {
		s.z = append(s.z, v/complex(math.Max(1, s.openHeld), 0))
	}
	s.weight = append(s.weight, s.openHeld)
	clear(s.open)
	s.openFill, s.openHeld = 0, 0
}

// compare adds to the mean turn from one segment to the next.
func (s *phasorSeries) compare(z []complex128) {
	if len(s.previous) != 0 {
		for ch, v := range z {
			p := s.previous[ch]
			s.lag += v * cmplx.Conj(p)
			s.power += cmplx.Abs(v) * cmplx.Abs(p)
		}
		s.pairs++
	}
	s.previous = append(s.previous[:0], z...)
}

// halve joins neighbours, each turned by half their distance at omega per segment.
func (s *phasorSeries) halve(omega float64) {
	half := float64(s.span) / 2
	early, late := cmplx.Rect(1, omega*half), cmplx.Rect(1, -omega*half)
	n := len(s.weight) / 2
	for i := range n {
		a, b := s.weight[2*i], s.weight[2*i+1]
		sum := math.Max(1, a+b)
		for ch := range s.channels {
			u, v := s.z[2*i*s.channels+ch], s.z[(2*i+1)*s.channels+ch]
			s.z[i*s.channels+ch] = u*early*complex(a/sum, 0) + v*late*complex(b/sum, 0)
		}
		s.weight[i] = a + b
	}
	s.z, s.weight = s.z[:n*s.channels], s.weight[:n]
	s.span, s.omega = 2*s.span, omega
}

// advance returns the mean turn in rad per segment, within ±π.
func (s *phasorSeries) advance() float64 {
	if s.lag == 0 {
		return 0
	}
	return cmplx.Phase(s.lag)
}

// coherence is 1 for a steady tone and about 1/√pairs for noise.
func (s *phasorSeries) coherence() float64 {
	if s.power == 0 {
		return 0
	}
	return cmplx.Abs(s.lag) / s.power
}

// clear reports whether the tone stands out enough to have a frequency: chance
// alone reaches 4/√pairs once in 10⁷ times, and 0.97 hardly more often in a few.
func (s *phasorSeries) clear() bool {
	return s.pairs >= 3 && s.coherence() > math.Min(0.97, 4/math.Sqrt(s.pairs))
}
