package predict

import (
	"math"

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
// highHz, n of each on logarithmic scales.
func (s *Setup) NewMap(lowHz, highHz, low, high float64, n int) (*Map, error) {
	m := &Map{ReferenceOhm: s.Jig.ReferenceOhm, FreqsHz: logSpan(lowHz, highHz, n), Ohms: logSpan(low, high, n)}
	for _, hz := range m.FreqsHz {
		row := make([]float64, len(m.Ohms))
		cal, err := s.Calibrate(hz)
		if err != nil {
			return nil, err
		}
		for i, ohm := range m.Ohms {
			row[i] = math.Inf(1)
			c, err := cal.Part(complex(ohm/math.Sqrt2, -ohm/math.Sqrt2))
			if err != nil {
				return nil, err
			}
			if c.Trusted {
				row[i] = HalfWidth(c.Reading.Modulus)
			}
		}
		m.Half = append(m.Half, row)
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
