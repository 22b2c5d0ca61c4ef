package coverage

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sort"
	"sync"
	"testing"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/uncertain"
)

var (
	combos  = flag.Int("combos", 60, "how many combinations the long test of predictions makes")
	repeats = flag.Int("repeats", 200, "and how often it measures each")
)

// combo is a part at a frequency with a reference, and what was predicted of it.
type combo struct {
	unit   parts.Unit
	value  float64
	refOhm float64
	freqHz float64
	half   float64 // predicted
}

const (
	comboNoise   = 1e-5 // rms re full scale, over the whole band
	comboRate    = 48000
	comboSeconds = 0.12
	comboSource  = 33
	comboLoad    = 1e-3
	combosWithin = 0.2 // predictions beyond are not compared
)

// drawn is a bench of the combination with everything drawn anew.
func (c combo) drawn(seed uint64) (*drawnBench, error) {
	b := &drawnBench{rng: rand.New(rand.NewPCG(seed, math.Float64bits(c.value*c.refOhm*c.freqHz))), regime: nearReference, repeats: 1,
		rateHz: comboRate, freqHz: c.freqHz, load: fixture.Load{Ohm: c.refOhm, Tolerance: comboLoad}}
	if err := b.declare([2]string{"total", "part"}, c.refOhm); err != nil {
		return nil, err
	}
	b.file.MainsHz = 0
	var err error
	b.plan, err = lockin.PlanTones(lockin.StimulusConfig{RateHz: comboRate, Seconds: comboSeconds + 0.09, LeadS: 0.05},
		[]lockin.ToneRequest{{FreqHz: c.freqHz}})
	if err != nil {
		return nil, err
	}
	b.freqHz = b.plan.Tones[0].FreqHz
	b.drawJig([2]string{"total", "part"})
	b.jig.SourceOhm = comboSource
	b.drawCard()
	b.faults.Noise, b.faults.PinkNoise, b.faults.Hum = [2]float64{comboNoise, comboNoise}, [2]float64{}, virtual.Hum{}
	b.part.circuit = fmt.Sprintf("%s %.15g", map[parts.Unit]string{parts.Ohm: "R", parts.Farad: "C", parts.Henry: "L"}[c.unit], c.value)
	return b, nil
}

// predict is what plan says of the combination.
func (c combo) predict() (half float64, err error) {
	b, err := c.drawn(1)
	if err != nil {
		return 0, err
	}
	s := predict.Setup{Jig: b.file, Load: &b.load, Trials: 4000, Card: predict.Card{RateHz: comboRate, Seconds: float64(b.plan.SteadyFrames) / comboRate,
		Peak: b.plan.Tones[0].Amplitude, NoiseRMS: [2]float64{comboNoise, comboNoise}, SourceOhm: comboSource}}
	cal, err := s.Calibrate(b.freqHz)
	if err != nil {
		return math.Inf(1), nil
	}
	w := 2 * math.Pi * b.freqHz
	z := map[parts.Unit]complex128{parts.Ohm: complex(c.value, 0), parts.Farad: complex(0, -1/(w*c.value)), parts.Henry: complex(0, w*c.value)}[c.unit]
	m, err := cal.Part(z)
	if err != nil || !m.Trusted {
		return math.Inf(1), err
	}
	return predict.HalfWidth(c.main(m.Reading)), nil
}

func (c combo) main(r impedance.Reading) (q uncertain.Quantity) {
	switch c.unit {
	case parts.Farad:
		return r.Series.C
	case parts.Henry:
		return r.Series.L
	}
	return r.Re
}

// allCombos are the parts from one end of the range to the other with every
// reference, at three frequencies, where the prediction is of use.
func allCombos(t *testing.T) []combo {
	t.Helper()
	var out []combo
	for _, p := range []struct {
		unit      parts.Unit
		low, high float64
		decades   int
	}{{parts.Ohm, 0.1, 10e6, 8}, {parts.Farad, 10e-12, 10e-3, 9}, {parts.Henry, 1e-6, 10, 7}} {
		for i := range p.decades + 1 {
			value := p.low * math.Pow(p.high/p.low, float64(i)/float64(p.decades))
			for _, ref := range []float64{10, 100, 1e3, 10e3, 100e3} {
				for _, hz := range []float64{120, 1000, 10e3} {
					c := combo{unit: p.unit, value: value, refOhm: ref, freqHz: hz}
					var err error
					if c.half, err = c.predict(); err != nil {
						t.Fatal(err)
					}
					if c.half < combosWithin {
						out = append(out, c)
					}
				}
			}
		}
	}
	return out
}

// observe measures the combination again and again, with everything drawn anew, and
// returns half of the distance that holds 95 % of the errors.
func (c combo) observe(n int) (half float64, refused int, err error) {
	var errorsSeen []float64
	for seed := range uint64(n) {
		b, err := c.drawn(seed + 1)
		if err != nil {
			return 0, 0, err
		}
		m, err := b.measure()
		if err != nil {
			return 0, 0, err
		}
		q := c.main(m.Reading)
		if !m.Trusted || math.IsNaN(q.Value) {
			refused++
			continue
		}
		errorsSeen = append(errorsSeen, q.Value/c.value-1)
	}
	if len(errorsSeen) < n/2 {
		return math.Inf(1), refused, nil
	}
	sort.Float64s(errorsSeen)
	at := func(p float64) float64 { return errorsSeen[int(p*float64(len(errorsSeen)-1)+0.5)] }
	return (at(0.975) - at(0.025)) / 2, refused, nil
}

// What plan foretells is what then comes out: the half width of the interval against
// that of the errors really made.
func TestPredictionsHold(t *testing.T) {
	list := allCombos(t)
	if len(list) < 60 {
		t.Fatalf("only %d combinations can be measured at all", len(list))
	}
	number, n, within := 2, 10, 0.65 // the quantiles of 10 errors scatter by a third
	if *soak {
		number, n, within = *combos, *repeats, 0.25
	}
	var mu sync.Mutex
	var wg sync.WaitGroup
	var ratios []float64
	next := make(chan combo)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for c := range next {
				half, refused, err := c.observe(n)
				mu.Lock()
				if err != nil {
					t.Error(err)
				}
				ratios = append(ratios, c.half/half)
				t.Logf("%.3g %s, %g ohm, %g Hz: predicted %.3g %%, observed %.3g %%, ratio %.2f, %d refused", c.value, c.unit, c.refOhm, c.freqHz, 100*c.half, 100*half, c.half/half, refused)
				mu.Unlock()
			}
		})
	}
	for k := range number {
		next <- list[(2*k+1)*len(list)/(2*number)]
	}
	close(next)
	wg.Wait()
	slices.Sort(ratios)
	good := 0
	for _, r := range ratios {
		if r > 1-within && r < 1/(1-within) {
			good++
		}
		if r < 0.5 || r > 2 {
			t.Errorf("a prediction is off by a factor of %.2f", r)
		}
	}
	t.Logf("%d of %d predictions within %.2f to %.2f; from %.2f to %.2f", good, len(ratios), 1-within, 1/(1-within), ratios[0], ratios[len(ratios)-1])
	if good < len(ratios)*9/10 {
		t.Errorf("only %d of %d predictions hold", good, len(ratios))
	}
}
