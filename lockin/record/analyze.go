// Package record finds the tones of a whole record, with their uncertainty and with
// everything about the record that a person must know.
package record

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/trouble"
	"fmt"
	"math"
)

// Analyze finds the tones of cfg in a record, with their uncertainty and with
// everything about the record that a person must know.
//
// It looks for the part of the record where the level stands, takes tones, their
// harmonics, mains lines of unknown exact frequency, offset and slow drift out of
// both channels in one least-squares fit, corrects a difference between the playing
// and the recording clock, and judges the noise by what is left beside each tone.
//
// The error reports a record that cannot be analysed at all (no channels, unequal
// lengths, too short, tones beyond 0.46 of the rate). What is wrong with a record
// that can be analysed is in Analysis.Findings; nothing already found is lost.
//
// A stimulus whose tones lie on a mains multiple turns their sign midway
// (stimulus.Plan.TurnFrame). Analyze sees that in the record, and then tells tone and hum
// of one frequency apart: hum is reported as a line of its own, and no LineU is left but
// what a hum that swings leaves.
//
// Analyze takes about as long as 200 sums over the record and needs three times
// its memory; see Tracker for records too long for that. It is safe to call from
// several goroutines at once.
//
// The fit is that of IEEE Std 1057, four parameters, with the nuisance lines in the
// same normal equations; its variance is that of the Cramér–Rao bound (Rife and
// Boorstyn, IEEE Trans. Inf. Theory 20 (1974) 591).
func Analyze(sig Signal, cfg Config) (*Analysis, error) {
	if err := sig.check(); err != nil {
		return nil, err
	}
	if err := cfg.check(sig); err != nil {
		return nil, err
	}
	an := newAnalyzer(sig, cfg)
	an.checkSamples()
	if an.nothingLeft() {
		return an.out, nil
	}
	an.turnBack()
	if !an.findTones() {
		an.reportNoTones()
		return an.out, nil
	}
	if err := an.fit(); err != nil {
		return nil, err
	}
	if err := an.avoidBreaks(); err != nil {
		return nil, err
	}
	if err := an.avoidClipping(); err != nil {
		return nil, err
	}
	an.judgeMono()
	an.judgeNoise()
	an.judgeLines()
	an.judgeStream()
	an.report()
	an.keepModel()
	return an.out, nil
}

// highestTone is how far up, as a share of the rate, a tone may lie: 20 kHz at
// 44.1 kHz passes; beyond, the card's filters are no longer to be trusted.
const highestTone = 0.46

// mostHarmonics bounds what may be asked for.
const mostHarmonics = 50

// minFrames is the shortest record that says anything about its own noise.
const minFrames = 64

func (c Config) check(sig Signal) error {
	if sig.Frames() < minFrames {
		return fmt.Errorf("%w: %d frames, at least %d are needed", ErrSignal, sig.Frames(), minFrames)
	}
	if c.MaxHarmonic < 0 || c.MaxHarmonic > mostHarmonics {
		return fmt.Errorf("lockin: harmonics up to %d; use 1 to %d, or 0 for the default", c.MaxHarmonic, mostHarmonics)
	}
	if c.MainsHz != 0 && (c.MainsHz < 40 || c.MainsHz > 70) {
		return fmt.Errorf("lockin: mains frequency %g Hz; use 50, 60 or 0 to look for both", c.MainsHz)
	}
	for _, f := range c.TonesHz {
		if !(f > 0) || f > highestTone*sig.RateHz {
			return fmt.Errorf("lockin: tone of %g Hz; at %g frames per second it must lie between 0 and %g Hz", f, sig.RateHz, highestTone*sig.RateHz)
		}
	}
	return nil
}

// analyzer carries one analysis from step to step.
type analyzer struct {
	sig   Signal
	cfg   Config
	out   *Analysis
	tones []located
	span  span // in frames of the whole record

	untrimmed span          // before its edges were cut, and with what was left for the fade
	sounding  span          // the whole stretch in which the level stands, before anything was left out
	gaps      []trouble.Gap // breaks in it, in frames of the record

	clockSteps int // places where time steps by a part of a sample

	grid []float64 // per channel, of all its samples; 0 for none

	bare  bool // tones alone: harmonics and what stands beside fall on each other
	model joint.Model
	joint *joint.Fit
	hum   humFit
	bins  bins      // spectrum of the residual
	avoid []float64 // modelled frequencies, not to be taken for noise

	transforms transforms

	turn   *turned   // where the tones' sign turns; nil where it does not
	around *analyzer // the fit around the turn, of the record as it came
	raw    Signal    // that record
}

// located is a tone that was found: where it should be and where it is.
type located struct {
	nominalHz, foundHz float64
	power              float64
	over               float64 // its power against the floor beside it
	origin             origin
	plain              bool // its sign does not turn with that of the others
}

// origin says why a tone is in the fit.
type origin uint8

const (
	asked  origin = iota // it was asked for
	found                // nothing was asked for, and it is there
	beside               // it stands beside those asked for; fitted so as not to disturb
)

func newAnalyzer(sig Signal, cfg Config) *analyzer {
	if cfg.MaxHarmonic == 0 {
		cfg.MaxHarmonic = 9
	}
	n := len(sig.Channels)
	out := &Analysis{RateHz: sig.RateHz, Bits: sig.Bits, Frames: sig.Frames(), End: sig.Frames(),
		Offset: make([]float64, n), NoiseRMS: make([]float64, n), Peak: make([]float64, n), Silent: make([]bool, n)}
	return &analyzer{sig: sig, cfg: cfg, out: out, span: span{end: sig.Frames()}, grid: make([]float64, n), transforms: transforms{}}
}

func (an *analyzer) find(f finding.Finding) { an.out.Findings = append(an.out.Findings, f) }

// foundHz returns where the tones that matter stand in the record.
func (an *analyzer) foundHz() []float64 {
	var out []float64
	for _, t := range an.tones {
		if t.origin != beside {
			out = append(out, t.foundHz)
		}
	}
	return out
}

// findTones finds the stretch where the level stands and the tones in it. The beginning
// and the end of a tone spread its spectrum, so the stretch comes first, by the tones
// asked for; where these are not what is there, it is chosen again by what was found.
func (an *analyzer) findTones() bool {
	whole := an.span
	an.selectSpan(an.cfg.TonesHz)
	an.locate()
	if len(an.tones) == 0 {
		an.span = whole
		an.locate()
	}
	if len(an.tones) == 0 {
		return false
	}
	if an.cfg.Stepped || math.Abs(an.clockTone().foundHz/an.clockTone().nominalHz-1) > clockSearch {
		an.span = whole
		an.selectSpan(an.foundHz())
	}
	an.sounding = an.span
	an.reportPause()
	return true
}

// selectSpan takes the stretch where the level stands, judged by tones at freqsHz or,
// without any, by all power.
func (an *analyzer) selectSpan(freqsHz []float64) {
	if an.cfg.Whole {
		return
	}
	s := steadySpan(an.used(), sortedCopy(freqsHz))
	off := an.span.first
	an.span = span{first: s.first + off, end: s.end + off, silence: s.silence, margin: s.margin, pauses: s.pauses, pauseFrame: s.pauseFrame + off}
}

// reportPause tells of a tone that was away for longer than a window: only the longest
// stretch is used.
func (an *analyzer) reportPause() {
	if an.span.pauses == 0 {
		return
	}
	at := float64(an.span.pauseFrame) / an.sig.RateHz
	f := finding.Finding{Code: finding.Dropout, Severity: finding.Invalid, AtS: &at,
		Detail: fmt.Sprintf("the tone is away %s, first near %.2f s; the longest stretch lasts %.2f s", times(an.span.pauses), at, an.seconds()),
		Advice: "let the player run through; close what loads the computer, and record again"}
	if an.seconds() >= enoughSoundS {
		f.Severity = finding.Warning
	}
	an.find(f)
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// used returns the stretch that is analysed.
func (an *analyzer) used() Signal { return an.sig.Slice(an.span.first, an.span.end) }

func (an *analyzer) seconds() float64 {
	return float64(an.span.end-an.span.first) / an.sig.RateHz
}
