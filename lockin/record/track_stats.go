package record

import "math"

// channelStats gathers what a channel holds besides tones.
type channelStats struct {
	n, sum, energy, peak float64
}

func (s *channelStats) add(x []float64) {
	s.n += float64(len(x))
	var sum, energy [2]float64
	high, low := s.peak, -s.peak
	for ; len(x) >= 2; x = x[2:] {
		a, b := x[0], x[1]
		sum[0] += a
		sum[1] += b
		energy[0] += a * a
		energy[1] += b * b
		if a > high {
			high = a
		}
		if a < low {
			low = a
		}
		if b > high {
			high = b
		}
		if b < low {
			low = b
		}
	}
	for _, a := range x {
		sum[0] += a
		energy[0] += a * a
		high, low = math.Max(high, a), math.Min(low, a)
	}
	s.sum += sum[0] + sum[1]
	s.energy += energy[0] + energy[1]
	s.peak = math.Max(high, -low)
}

func (s *channelStats) join(o channelStats) {
	s.n += o.n
	s.sum += o.sum
	s.energy += o.energy
	s.peak = math.Max(s.peak, o.peak)
}

// finite reports whether no sample was NaN or infinite: either stays in energy.
func (s *channelStats) finite() bool { return !math.IsNaN(s.energy) && !math.IsInf(s.energy, 0) }

// stepMeter finds the largest step in a series: what one value differs from the
// one two before it, less the same difference two values earlier. A jump inside
// one segment shows in full, a steady slope not at all.
type stepMeter struct {
	wrap    bool // values are angles in radians
	last    [5]float64
	filled  int
	largest float64
	at      int64 // segment in which the largest step was
	squares float64
	count   float64
}

// add takes the value of a segment.
func (m *stepMeter) add(v float64, segment int64) {
	copy(m.last[:], m.last[1:])
	m.last[4] = v
	if m.filled++; m.filled < 5 {
		return
	}
	step := m.angle(m.angle(m.last[4]-m.last[2]) - m.angle(m.last[2]-m.last[0]))
	m.squares += step * step
	m.count++
	if math.Abs(step) > math.Abs(m.largest) {
		m.largest, m.at = step, segment-1
	}
}

func (m *stepMeter) angle(v float64) float64 {
	if m.wrap {
		return math.Remainder(v, 2*math.Pi)
	}
	return v
}

// gap forgets the last values, so that what follows is not compared across it.
func (m *stepMeter) gap() { m.filled = 0 }

func (m *stepMeter) result(segmentS float64) TrackStep {
	if m.count == 0 {
		return TrackStep{}
	}
	return TrackStep{Size: m.largest, RMS: math.Sqrt(m.squares / m.count), AtS: (float64(m.at) + 0.5) * segmentS}
}
