package joint

// Line is one sinusoid of the model.
type Line struct {
	Mains bool
	Base  float64 // tone: frequency in Hz before the factor 1+ε; mains: order
	Tone  int     // index of the tone that it belongs to; -1 for mains
	Order int     // 1 for a tone itself, k for its harmonic; order of the mains line
	Clock int     // which ε moves it; unused for mains
	// Turned: its sign turns in the middle of the stretch, from + to −.
	Turned bool
}

// Model is what is fitted: lines and which of the shared parameters are free.
// Tones that were played together share one clock; those that were merely found have
// each their own.
type Model struct {
	RateHz                  float64
	Lines                   []Line
	Degree                  int       // of the polynomial, up to 2; -1 for none
	Eps                     []float64 // one per clock; start values
	EpsBound                []float64 // each stays within this of its start
	FreeEps                 bool
	MainsHz, chirp          float64 // chirp in Hz/s, of the fundamental; both free or both held
	MainsCentre, MainsBound float64 // the mains frequency stays within this of that
	ChirpMax                float64 // and its drift within this of 0
	FreeMains               bool
	// Skip frames in the middle of the stretch, where the turn goes on, count for
	// nothing; it has the parity of the length of the stretch, or is 0.
	Skip int
}

// FreqHz returns the frequency of line l in the middle of the stretch.
func (m *Model) FreqHz(l Line) float64 {
	if l.Mains {
		return l.Base * m.MainsHz
	}
	return l.Base * (1 + m.Eps[l.Clock])
}

// DriftHzPerS is the drift of the mains fundamental as fitted.
func (m *Model) DriftHzPerS() float64 { return m.chirp }

// AddClock adds a clock whose ε starts at eps and stays within bound of it.
func (m *Model) AddClock(eps, bound float64) {
	m.Eps, m.EpsBound = append(m.Eps, eps), append(m.EpsBound, bound)
}

// AllHz returns the frequencies of all lines.
func (m *Model) AllHz() []float64 {
	out := make([]float64, len(m.Lines))
	for i, l := range m.Lines {
		out[i] = m.FreqHz(l)
	}
	return out
}

// HasMains says whether the mains line of an order is in the model.
func (m *Model) HasMains(order int) bool {
	for _, l := range m.Lines {
		if l.Mains && l.Order == order {
			return true
		}
	}
	return false
}
