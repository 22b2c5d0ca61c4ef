package predict

import (
	"math"

	"example.org/wheatear/lockin/internal/errkind"

	"gonum.org/v1/gonum/floats"
)

// Map says how far |Z| will be known over frequency and impedance, with one
// reference.
type Map struct {
	ReferenceOhm float64
	FreqsHz      []float64
	Ohms         []float64
	Half         [][]float64 // [frequency][impedance], relative half width of |Z|; infinite where refused
}

// NewMap predicts resistors between low and high at frequencies between lowHz and
// highHz, so many of each on logarithmic scales. The phase is that of as much
// resistance as capacitance. A frequency at which the jig cannot be calibrated reads
// nothing. Errors: ends that are no range, less than two points.
func (s *Setup) NewMap(lowHz, highHz float64, freqs int, low, high float64, ohms int) (*Map, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if !(lowHz > 0 && highHz > lowHz && low > 0 && high > low) || math.IsInf(high, 0) || freqs < 2 || ohms < 2 {
		return nil, errkind.Errorf(ErrSetup, "predict: a map of %d frequencies from %g to %g Hz and %d impedances from %g to %g ohm: use two or more, rising from above zero",
			freqs, lowHz, highHz, ohms, low, high)
	}
	m := &Map{ReferenceOhm: s.Jig.ReferenceOhm, FreqsHz: logSpan(lowHz, highHz, freqs), Ohms: logSpan(low, high, ohms)}
	for _, hz := range m.FreqsHz {
		row := make([]float64, len(m.Ohms))
		for i := range row {
			row[i] = math.Inf(1)
		}
		m.Half = append(m.Half, row)
		cal, err := s.Calibrate(hz)
		if err != nil {
			continue
		}
		for i, ohm := range m.Ohms {
			c, err := cal.Part(complex(ohm/math.Sqrt2, -ohm/math.Sqrt2))
			if err != nil {
				return nil, err
			}
			if c.Trusted {
				row[i] = HalfWidth(c.Reading.Modulus)
			}
		}
	}
	return m, nil
}

func logSpan(low, high float64, n int) []float64 {
	return floats.LogSpan(make([]float64, n), low, high)
}

// Reach is, for each frequency, the least and the largest impedance that is known
// within half; NaN where none is. Between the points of the map it is interpolated
// on logarithmic scales.
func (m *Map) Reach(half float64) (low, high []float64) {
	for _, row := range m.Half {
		a, b := math.NaN(), math.NaN()
		for i, h := range row {
			if h > half {
				continue
			}
			if math.IsNaN(a) {
				a = m.edge(row, i-1, i, half)
			}
			b = m.edge(row, i+1, i, half)
		}
		low, high = append(low, a), append(high, b)
	}
	return low, high
}

// edge is where the half width passes a value between a point outside and one inside.
func (m *Map) edge(row []float64, outside, inside int, half float64) float64 {
	if outside < 0 || outside >= len(row) || math.IsInf(row[outside], 0) {
		return m.Ohms[inside]
	}
	a, b := math.Log(row[inside]), math.Log(row[outside])
	t := (math.Log(half) - a) / (b - a)
	return math.Exp(math.Log(m.Ohms[inside]) + t*math.Log(m.Ohms[outside]/m.Ohms[inside]))
}
