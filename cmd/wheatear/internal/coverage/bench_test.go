package coverage

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

// A regime is a corner of what people measure, ruled by an uncertainty of its own.
type regime string

const (
	nearReference regime = "near"    // load tolerance and drift
	lowOhms       regime = "low"     // contact
	highOhms      regime = "high"    // stray
	littleLoss    regime = "no loss" // D about its uncertainty
	resistors     regime = "R only"  // X about its uncertainty
	farOff        regime = "mid"     // a decade or two from the reference: noise, drift
	withoutLoad   regime = "no load" // the jig's own priors
)

var regimes = []regime{nearReference, lowOhms, highOhms, littleLoss, resistors, farOff, withoutLoad}

// drawnBench is a bench of which everything that its jig file declares was drawn
// from the distribution declared, and a part.
type drawnBench struct {
	rng    *rand.Rand
	regime regime
	file   *fixture.Jig   // what is declared
	jig    virtual.Jig    // what is
	faults virtual.Faults // likewise, but for the drift
	load   fixture.Load
	plan   *stimulus.Plan
	rateHz float64
	freqHz float64 // as planned
	clock  float64 // what the card plays is higher by this share

	loadOhm  float64
	left     fixture.Standards // of residuals: Value is what was drawn
	repeats  int
	part     drawnPart
	sequence uint64 // of recordings
}

// between is log-uniform.
func between(r *rand.Rand, low, high float64) float64 {
	return low * math.Exp(r.Float64()*math.Log(high/low))
}

// within is rectangular.
func within(r *rand.Rand, half float64) float64 { return half * (2*r.Float64() - 1) }

func pick[T any](r *rand.Rand, from ...T) T { return from[r.IntN(len(from))] }

// drawBench draws bench number n: the same for the same number.
func drawBench(n int) (*drawnBench, error) {
	r := rand.New(rand.NewPCG(uint64(n), 0x6a6967))
	b := &drawnBench{rng: r, regime: regimes[n%len(regimes)], repeats: pick(r, 1, 1, 1, 3)}
	wiring := pick(r, [2]string{"total", "part"}, [2]string{"total", "reference"}, [2]string{"part", "-reference"}, [2]string{"part", "reference"})
	ref := between(r, 50, 20e3)
	switch b.regime {
	case lowOhms:
		ref = between(r, 10, 100)
	case highOhms:
		ref = between(r, 1e4, 1e5)
	}
	b.load = fixture.Load{Ohm: round3(ref * between(r, 0.5, 2)), Tolerance: pick(r, 1e-4, 1e-3, 1e-2)}
	if err := b.declare(wiring, round3(ref)); err != nil {
		return nil, err
	}
	b.rateHz = pick(r, 44100.0, 44100, 48000, 96000)
	if err := b.tone(); err != nil {
		return nil, err
	}
	b.drawJig(wiring)
	b.drawCard()
	b.drawPart()
	return b, nil
}

func round3(v float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(v))-2)
	return math.Round(v/unit) * unit
}

// declare writes the jig file. What it leaves out has the defaults of the README.
func (b *drawnBench) declare(wiring [2]string, ref float64) (err error) {
	text := fmt.Sprintf(`channels = [%q, %q]
reference = "%g"
reference_tolerance = "%g%%"
reference_capacitance = "0.5p"
mains = %d
`, wiring[0], wiring[1], ref, pick(b.rng, 0.1, 1), pick(b.rng, 50, 60))
	if b.regime == withoutLoad || b.rng.IntN(2) == 0 {
		text += fmt.Sprintf("input_resistance = \"%g\"\ninput_capacitance = \"%gp\"\n", round3(between(b.rng, 5e4, 1e6)), round3(between(b.rng, 60, 250)))
	}
	b.file, err = fixture.ParseJig("drawn", []byte(text))
	return err
}

// tone plans the stimulus: a tone clear of the mains, as `--at ~1k` asks for.
func (b *drawnBench) tone() (err error) {
	low, high := 200.0, 0.4*b.rateHz
	if b.regime == highOhms {
		high = 5e3 // above, little passes megohms but what lies across them
	}
	b.plan, err = stimulus.PlanTones(stimulus.Config{RateHz: b.rateHz, Seconds: 0.2, LeadS: 0.05, MainsHz: b.file.MainsHz},
		[]stimulus.ToneRequest{{FreqHz: between(b.rng, low, math.Min(high, 20e3)), Movable: true}})
	if err == nil {
		b.freqHz = b.plan.Tones[0].FreqHz
	}
	return err
}

// drawJig draws what the jig file and the standards' declarations leave open, and
// all else as benches have it.
func (b *drawnBench) drawJig(wiring [2]string) {
	r, declared := b.rng, b.file
	b.jig = virtual.Jig{
		Channels:       wiring,
		ReferenceOhm:   declared.ReferenceOhm * (1 + within(r, declared.ReferenceTolerance)),
		ReferenceFarad: math.Max(0, declared.ReferenceFarad[0]*(1+0.5*r.NormFloat64())),
		SourceOhm:      between(r, 10, 100),
		LeadOhm:        0.01 + 0.2*math.Abs(r.NormFloat64()), LeadHenry: 5e-8 + 1e-6*math.Abs(r.NormFloat64()), FixtureFarad: 1e-12 + 20e-12*math.Abs(r.NormFloat64()),
		ContactOhm: 5e-3,
	}
	if declared.Channels.Virtual() {
		b.jig.SourceOhm = declared.ReferenceOhm
		if perHertz := math.Abs(0.5e-6 * r.NormFloat64()); perHertz > 0 {
			b.jig.Amplifier.GainBandwidthHz = 1 / perHertz
		}
	}
	for i := range b.jig.Inputs {
		in := virtual.Input{Ohm: between(r, 5e4, 1e6), Farad: between(r, 6e-11, 2.5e-10)}
		if declared.InputOhm != nil {
			in = virtual.Input{Ohm: declared.InputOhm[i] / (1 + 0.05*r.NormFloat64()), Farad: declared.InputFarad[i] * (1 + 0.1*r.NormFloat64())}
		}
		b.jig.Inputs[i] = in
	}
	b.loadOhm = b.load.Ohm * (1 + within(r, b.load.Tolerance))
	for _, residual := range []struct {
		to   *fixture.Residual
		from fixture.Residual
	}{
		{&b.left.OpenFarad, declared.Standards.OpenFarad},
		{&b.left.ShortOhm, declared.Standards.ShortOhm}, {&b.left.ShortHenry, declared.Standards.ShortHenry},
		{&b.left.LoadFarad, declared.Standards.LoadFarad}, {&b.left.LoadHenry, declared.Standards.LoadHenry},
	} {
		residual.to.Value = residual.from.Value + residual.from.U*r.NormFloat64()
	}
}

// drawCard draws gains, delay, clocks, noise and hum. In half of the benches one
// clock plays and records.
func (b *drawnBench) drawCard() {
	r, declared := b.rng, b.file
	b.clock = within(r, declared.ClockTolerance)
	recorder := pick(r, b.clock, within(r, declared.ClockTolerance))
	noise := between(r, 1e-6, 1e-4)
	// A gain that is not real is a turn of the phase, and so a delay.
	turn := declared.ChannelMatch * r.NormFloat64()
	b.faults = virtual.Faults{
		Crosstalk: [2]float64{1e-4 * r.NormFloat64(), 1e-4 * r.NormFloat64()},
		Gain:      [2]float64{0, declared.ChannelMatch * r.NormFloat64()},
		Delay:     [2]float64{0, declared.DelaySamples*r.NormFloat64() + b.samples(turn)},
		ClockPPM:  1e6 * (recorder - b.clock),
		Noise:     [2]float64{noise, noise},
		Hum:       virtual.Hum{Hz: declared.MainsHz + within(r, 0.03), Levels: []float64{3e-4, 3e-5, 1e-4, 0, 5e-5}},
		Bits:      24,
	}
	if r.IntN(4) == 0 {
		b.faults.PinkNoise = [2]float64{noise / 3, noise / 3}
	}
}

// samples is the delay that turns the phase by rad.
func (b *drawnBench) samples(rad float64) float64 { return rad * b.rateHz / (2 * math.Pi * b.freqHz) }

// drawnPart is a part as a circuit, and what it is at any frequency.
type drawnPart struct {
	circuit string
	ohm     complex128 // at the frequency that is really played
}

// drawPart draws a part of the bench's regime.
func (b *drawnBench) drawPart() {
	r, ref := b.rng, b.file.ReferenceOhm
	size, d := between(r, ref/3, 3*ref), between(r, 0.01, 0.3)
	switch b.regime {
	case lowOhms:
		size = between(r, 5e-3, 0.3)
	case highOhms:
		size = between(r, 5e5, 1e7)
	case littleLoss:
		size, d = between(r, ref/10, 10*ref), between(r, 1e-6, 3e-3)
	case resistors:
		size, d = between(r, ref/10, 10*ref), between(r, 1e-6, 1e-3)
	case farOff:
		size = pick(r, between(r, ref/300, ref/10), between(r, 10*ref, 100*ref))
	}
	w := 2 * math.Pi * b.freqHz * (1 + b.clock)
	jw, slow := complex(0, w), 1+b.clock // the simulation plays at the nominal frequency: C and L take up the difference
	henry, farad := size/w, 1/(w*size)
	kind := r.IntN(4)
	switch b.regime {
	case littleLoss:
		kind = 1 + r.IntN(3)
	case resistors:
		kind = 0
	}
	switch kind {
	case 0: // resistor with strays
		if farad, henry = d*farad, d*henry; size > 1e3 {
			b.part = drawnPart{fmt.Sprintf("R %.15g // C %.15g", size, farad*slow), 1 / complex(1/size, w*farad)}
		} else {
			b.part = drawnPart{fmt.Sprintf("R %.15g + L %.15g", size, henry*slow), complex(size, w*henry)}
		}
	case 1: // capacitor with series resistance
		b.part = drawnPart{fmt.Sprintf("C %.15g + R %.15g", farad*slow, d*size), complex(d*size, 0) + 1/(jw*complex(farad, 0))}
	case 2: // capacitor that leaks
		b.part = drawnPart{fmt.Sprintf("C %.15g // R %.15g", farad*slow, size/d), 1 / (complex(d/size, 0) + jw*complex(farad, 0))}
	case 3: // coil
		b.part = drawnPart{fmt.Sprintf("L %.15g + R %.15g", henry*slow, d*size), complex(d*size, w*henry)}
	}
}

// hear inserts a circuit times times over, or leaves it there for times records,
// with extra resistance, inductance and capacitance at the terminals.
func (b *drawnBench) hear(role fixture.Role, circuit string, left connection, times int) ([]fixture.Observation, error) {
	jig, declared := b.jig, b.file
	jig.ContactOhm += left.ohm + declared.ContactOhm*b.rng.NormFloat64()
	jig.LeadHenry += left.henry
	jig.FixtureFarad += left.farad + declared.StrayFarad*b.rng.NormFloat64()
	var heard []fixture.Observation
	for range times {
		b.sequence++
		faults := b.faults // with a drift on both axes
		faults.Gain[1] += declared.Drift * b.rng.NormFloat64()
		faults.Delay[1] += b.samples(declared.Drift * b.rng.NormFloat64())
		card, err := virtual.New(virtual.Config{Jig: jig, Faults: faults, Seed: b.rng.Uint64(),
			Tray: &virtual.Tray{Parts: []virtual.Part{{Name: "it", Circuit: circuit}}}})
		if err != nil {
			return nil, err
		}
		if err := card.Insert("it"); err != nil {
			return nil, err
		}
		o, err := b.record(card)
		if err != nil {
			return nil, err
		}
		o.Role, o.File = role, fmt.Sprintf("%s-%d.wav", role, b.sequence)
		heard = append(heard, o)
	}
	return heard, nil
}

// connection is what a standard is beyond what it claims to be.
type connection struct{ ohm, henry, farad float64 }

func (b *drawnBench) record(card *virtual.Card) (o fixture.Observation, err error) {
	stimulus := make([]float64, b.plan.Frames())
	b.plan.Stimulus().Read(stimulus)
	rec, err := card.Run(context.Background(), audio.Config{RateHz: b.rateHz}, stimulus)
	if err != nil {
		return o, err
	}
	o.Analysis, err = record.Analyze(record.Signal{RateHz: b.rateHz, Channels: rec.Channels, Bits: rec.Bits},
		record.Config{TonesHz: []float64{b.freqHz}, MainsHz: b.file.MainsHz})
	return o, err
}

// measure calibrates the bench and reads the part.
func (b *drawnBench) measure() (*fixture.Corrected, error) {
	standards, err := b.hear(fixture.Open, "", connection{farad: b.left.OpenFarad.Value}, 1)
	if err != nil {
		return nil, err
	}
	const wire = 1e-6 // ohm: a circuit of nothing would be an open
	short, err := b.hear(fixture.Short, "R 1u", connection{b.left.ShortOhm.Value - wire, b.left.ShortHenry.Value, 0}, 1)
	if err != nil {
		return nil, err
	}
	standards = append(standards, short...)
	if b.regime != withoutLoad {
		load, err := b.hear(fixture.LoadRole, fmt.Sprintf("R %.15g", b.loadOhm), connection{0, b.left.LoadHenry.Value, b.left.LoadFarad.Value}, 1)
		if err != nil {
			return nil, err
		}
		load[0].Load = &b.load
		standards = append(standards, load...)
	}
	cal, err := fixture.Calibrate(b.file, standards, []float64{b.freqHz}, fixture.About{})
	var refused *fixture.RefusedError
	if errors.As(err, &refused) {
		return &fixture.Corrected{Findings: refused.Findings}, nil
	}
	if err != nil {
		return nil, err
	}
	parts, err := b.hear(fixture.PartRole, b.part.circuit, connection{}, b.repeats)
	if err != nil {
		return nil, err
	}
	return fixture.Measure(b.file, cal, parts, b.freqHz, fixture.Options{})
}

// String tells a bench for a message.
func (b *drawnBench) String() string {
	return fmt.Sprintf("%s, %s/%s, %.4g ohm, load %s, %.5g Hz at %g Hz, part %s = %.4g ohm, |Z| %.4g, noise %.2g", b.regime, b.file.Channels[0], b.file.Channels[1],
		b.file.ReferenceOhm, b.load, b.freqHz, b.rateHz, b.part.circuit, b.part.ohm, cmplx.Abs(b.part.ohm), b.faults.Noise[0])
}
