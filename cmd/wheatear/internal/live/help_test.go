package live

import (
	"context"
	"fmt"
	"math/cmplx"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/stimulus"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// jigText is a simulated jig with short records, so that tests are quick.
const jigText = `name = "test bench"
channels = ["total", "part"]
reference = "1k"
reference_tolerance = "0.1%"
full_scale = "1V"
mains = 50
[card]
backend = "virtual"
seconds = 0.6
`

func parseJig(t *testing.T, text string) *fixture.Jig {
	t.Helper()
	jig, err := fixture.ParseJig("jig.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return jig
}

// tray is a few parts with their impedance as formulas of j·omega.
var tray = &virtual.Tray{Parts: []virtual.Part{
	{Name: "r22", Circuit: "R 22"}, {Name: "r470", Circuit: "R 470"}, {Name: "r10k", Circuit: "R 10k"},
	{Name: "c100n", Circuit: "R 0.5 + C 100n"}, {Name: "c10u", Circuit: "R 0.3 + C 10u"}, {Name: "l10m", Circuit: "R 12 + L 10m"},
}}

var truths = map[string]func(jw complex128) complex128{
	"r22":   func(complex128) complex128 { return 22 },
	"r470":  func(complex128) complex128 { return 470 },
	"r10k":  func(complex128) complex128 { return 10e3 },
	"c100n": func(jw complex128) complex128 { return 0.5 + 1/(jw*100e-9) },
	"c10u":  func(jw complex128) complex128 { return 0.3 + 1/(jw*10e-6) },
	"l10m":  func(jw complex128) complex128 { return 12 + jw*10e-3 },
}

// card is a simulated card with believable faults.
func card(t *testing.T, seed uint64, f virtual.Faults) *virtual.Card {
	t.Helper()
	c, err := virtual.New(virtual.Config{Jig: virtual.TypicalJig(), Faults: f, Tray: tray, Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// with470 is a card with a resistor in it and no fault but noise.
func with470(t *testing.T) *virtual.Card {
	t.Helper()
	c := card(t, 1, virtual.Faults{Noise: [2]float64{1e-5, 1e-5}})
	if err := c.Insert("r470"); err != nil {
		t.Fatal(err)
	}
	return c
}

// talker gathers what a session tells.
type talker struct{ said []string }

func (k *talker) tell(text string) { k.said = append(k.said, text) }
func (k *talker) all() string      { return strings.Join(k.said, "\n") }

// session is one on a card, with what it says.
func session(t *testing.T, c audio.Card, o Options) (*Session, *talker) {
	t.Helper()
	k := &talker{}
	if o.Jig == nil {
		o.Jig = parseJig(t, jigText)
	}
	o.Tell = k.tell
	return New(c, o), k
}

// requests are tones as they stand.
func requests(freqsHz ...float64) []stimulus.ToneRequest {
	var out []stimulus.ToneRequest
	for _, f := range freqsHz {
		out = append(out, stimulus.ToneRequest{FreqHz: f})
	}
	return out
}

func plan(t *testing.T, s *Session, freqsHz ...float64) *stimulus.Plan {
	t.Helper()
	p, err := s.Plan(context.Background(), requests(freqsHz...))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var part = Subject{Role: fixture.PartRole, Name: "r470"}

// spoiling is a card whose runs are changed, one change for each; nil for none.
type spoiling struct {
	audio.Card
	changes []func(rec *audio.Record)
	runs    int
}

func (s *spoiling) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	rec, err := s.Card.Run(ctx, cfg, stimulus)
	if s.runs < len(s.changes) && s.changes[s.runs] != nil && rec != nil {
		s.changes[s.runs](rec)
	}
	s.runs++
	return rec, err
}

// dropout takes frames away in the middle of the tone, 50.15 periods of 1 kHz, with
// less than half a second of it on either side.
func dropout(rec *audio.Record) {
	for ch, x := range rec.Channels {
		at := len(x) * 2 / 5
		rec.Channels[ch] = append(x[:at:at], x[at+2407:]...)
	}
}

// off reports how many standard uncertainties a reading is off, and whether the
// truth lies in its 95 % intervals.
func off(c *fixture.Corrected, truth complex128) (widths float64, inside bool) {
	r := c.Reading
	re, im := (r.Re.Value-real(truth))/r.Re.U, (r.Im.Value-imag(truth))/r.Im.U
	inside = real(truth) >= r.Re.Low && real(truth) <= r.Re.High && imag(truth) >= r.Im.Low && imag(truth) <= r.Im.High
	return max(abs(re), abs(im)), inside
}

func abs(x float64) float64 { return max(x, -x) }

func show(c *fixture.Corrected, truth complex128) string {
	return fmt.Sprintf("%g Hz: %.6g ± %.2g, %.6g ± %.2g j, truth %.6g (|Z| %.4g)", c.NominalHz,
		c.Reading.Re.Value, c.Reading.Re.U, c.Reading.Im.Value, c.Reading.Im.U, truth, cmplx.Abs(truth))
}
