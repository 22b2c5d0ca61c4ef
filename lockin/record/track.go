package record

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/internal/fold"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/phase"
)

// ErrTrack is wrapped by errors about tracker settings and records too short to
// track.
var ErrTrack = errors.New("lockin: cannot track")

// TrackConfig says what to track. The zero value of a field means its default.
type TrackConfig struct {
	RateHz   float64   // samples per second; required
	TonesHz  []float64 // one or a few nominal frequencies; required
	Channels int       // default 2
	SegmentS float64   // length of a segment; default 50 ms, and no less than 8 cycles
}

// Tracker measures tones over a record of any length in constant memory: a phasor
// per segment, tone and channel, of which up to 4096 are kept; a longer record
// joins them in pairs, turned to one phase by the frequency seen so far.
//
// It fits in each segment the offset and one tone at a time; other tones and mains
// lines leak from segment to segment with turning phase, which spreads the
// segments but averages out of the whole like one over its length. It is not safe
// for concurrent use.
type Tracker struct {
	cfg     TrackConfig
	frames  int64
	segment int // frames
	filled  int // frames of the segment so far
	tone    []*trackedTone
	channel []channelStats
	totals  []channelStats
	skipped int64 // segments with non-finite samples
	planar  [][]float64
}

// TrackStep is the largest step in a series of segments.
type TrackStep struct {
	Size float64 // rad, or relative level
	RMS  float64 // of all steps, for comparison
	AtS  float64 // seconds from the start of the record
}

// TrackedTone is what the whole record says about one tone.
type TrackedTone struct {
	NominalHz float64
	FreqHz    float64       // as recorded
	FreqUHz   float64       // its standard uncertainty
	Phasors   []complex128  // per channel, peak; time origin at Track.MiddleS
	Cov       *mat.SymDense // of Re 1, Im 1, Re 2, Im 2, … from the scatter of batches
	Dof       float64       // degrees of freedom of Cov
	PhaseStep TrackStep     // a loss of samples shows here
	LevelStep TrackStep     // a gap, or a gain that jumps
}

// Track is the result of a [Tracker].
type Track struct {
	RateHz    float64
	Frames    int64 // all that were added
	Segments  int64 // whole segments used
	SegmentS  float64
	MiddleS   float64 // time origin of the phasors, from the start of the record
	Skipped   int64   // segments left out as they hold NaN or infinity
	Tones     []TrackedTone
	ClockPPM  float64   // record clock against nominal, from the strongest tone; low tones are positive
	ClockUPPM float64   // its standard uncertainty
	Offset    []float64 // per channel
	NoiseRMS  []float64 // per channel: all but the offset and the tones
	Peak      []float64 // per channel
}

const (
	trackAlign   = 4 * fold.RotateBlock // segments of whole passes of the kernel
	trackCycles  = 8                    // the fewest in a segment
	trackBatches = 16
	trackMin     = 8 // segments, the fewest that say anything about scatter
)

// NewTracker checks the settings. The error wraps [ErrTrack] or [ErrFrequency].
func NewTracker(cfg TrackConfig) (*Tracker, error) {
	if cfg.Channels == 0 {
		cfg.Channels = 2
	}
	num.SetDefault(&cfg.SegmentS, 0.05)
	if err := phase.CheckFrequencies(cfg.TonesHz, cfg.RateHz); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrTrack, err)
	}
	if len(cfg.TonesHz) == 0 || cfg.Channels < 1 || !(cfg.SegmentS > 0) || cfg.SegmentS > 3600 {
		return nil, fmt.Errorf("%w: %d tones, %d channels, segments of %g s", ErrTrack, len(cfg.TonesHz), cfg.Channels, cfg.SegmentS)
	}
	longest := cfg.SegmentS * cfg.RateHz
	for i, f := range cfg.TonesHz {
		if !(f > 0 && f < cfg.RateHz/2) {
			return nil, fmt.Errorf("%w: tone %d of %g Hz, want more than 0 and less than %g (half the rate)", ErrTrack, i+1, f, cfg.RateHz/2)
		}
		longest = math.Max(longest, trackCycles*cfg.RateHz/f)
	}
	if longest > 1<<40 {
		return nil, fmt.Errorf("%w: segments of %.3g frames", ErrTrack, longest)
	}
	t := &Tracker{cfg: cfg, segment: int(math.Ceil(longest/trackAlign)) * trackAlign}
	t.channel, t.totals = make([]channelStats, cfg.Channels), make([]channelStats, cfg.Channels)
	for _, f := range cfg.TonesHz {
		t.tone = append(t.tone, newTrackedTone(phase.StepOf(f, cfg.RateHz), cfg.Channels, t.segment))
	}
	return t, nil
}

// Add takes the next block: one slice per channel, of equal lengths. It does not
// allocate. The error wraps [ErrTrack] if channels are missing or differ in
// length; nothing of the block is taken then.
func (t *Tracker) Add(block [][]float64) error {
	if len(block) != t.cfg.Channels || len(block) == 0 {
		return fmt.Errorf("%w: a block of %d channels, want %d", ErrTrack, len(block), t.cfg.Channels)
	}
	for i, x := range block {
		if len(x) != len(block[0]) {
			return fmt.Errorf("%w: channel %d has %d samples, channel 1 has %d", ErrTrack, i+1, len(x), len(block[0]))
		}
	}
	t.add(block, len(block[0]))
	return nil
}

func (t *Tracker) add(block [][]float64, frames int) {
	for at := 0; at < frames; {
		n := min(t.segment-t.filled, frames-at)
		for ch, x := range block {
			t.channel[ch].add(x[at : at+n])
			for _, tone := range t.tone {
				tone.rotator[ch].Add(x[at : at+n])
			}
		}
		at, t.filled, t.frames = at+n, t.filled+n, t.frames+int64(n)
		if t.filled == t.segment {
			t.closeSegment()
		}
	}
}

// AddInterleaved takes whole frames with the channels side by side, as files hold
// them. The error wraps [ErrTrack] if the last frame is not whole.
func (t *Tracker) AddInterleaved(x []float64) error {
	c := t.cfg.Channels
	if c < 1 || len(x)%c != 0 {
		return fmt.Errorf("%w: %d samples are no whole frames of %d channels", ErrTrack, len(x), c)
	}
	const chunk = 2048 // frames; both copies stay in the cache
	if t.planar == nil {
		t.planar = make([][]float64, c)
		for ch := range t.planar {
			t.planar[ch] = make([]float64, chunk)
		}
	}
	for len(x) > 0 {
		n := min(chunk, len(x)/c)
		for ch, y := range t.planar {
			spread(y[:n], x[ch:], c)
		}
		t.add(t.planar, n)
		x = x[n*c:]
	}
	return nil
}

// spread copies every c-th sample of x.
func spread(dst, x []float64, c int) {
	if c == 2 {
		for i := range dst {
			dst[i] = x[2*i]
		}
		return
	}
	for i := range dst {
		dst[i] = x[c*i]
	}
}

// closeSegment takes the sums of a full segment over and starts the next. A
// segment with a non-finite sample is left out, its place kept: the tones go on at
// the right phase.
func (t *Tracker) closeSegment() {
	finite := true
	for ch := range t.channel {
		finite = finite && t.channel[ch].finite()
	}
	if finite {
		for ch := range t.channel {
			t.totals[ch].join(t.channel[ch])
		}
	} else {
		t.skipped++
	}
	for _, tone := range t.tone {
		tone.close(t.channel, finite)
	}
	if t.tone[0].series.full() {
		for i, omega := range t.advances() {
			t.tone[i].series.halve(omega)
		}
	}
	t.filled = 0
	clear(t.channel)
}

// advances returns by how much the phase of each tone, against its nominal
// frequency, moves on from segment to segment. Tones of one card share its clock,
// so one too faint to tell takes that of the clearest.
func (t *Tracker) advances() []float64 {
	clearest := 0
	for i, tone := range t.tone {
		if tone.series.coherence() > t.tone[clearest].series.coherence() {
			clearest = i
		}
	}
	out := make([]float64, len(t.tone))
	for i, tone := range t.tone {
		out[i] = tone.series.advance()
		if !tone.series.clear() {
			out[i] = t.tone[clearest].series.advance() * t.cfg.TonesHz[i] / t.cfg.TonesHz[clearest]
		}
	}
	return out
}

// Result evaluates what was added so far, up to the last whole segment; the
// stream may go on. The error wraps [ErrTrack] if fewer than eight segments are
// whole and finite.
func (t *Tracker) Result() (*Track, error) {
	if len(t.tone) == 0 {
		return nil, fmt.Errorf("%w: a Tracker comes from NewTracker", ErrTrack)
	}
	first := t.tone[0]
	if first.series.count < trackMin {
		return nil, fmt.Errorf("%w: %d whole segments of %d frames, want at least %d: record longer", ErrTrack, first.series.count, t.segment, trackMin)
	}
	rate := t.cfg.RateHz
	r := &Track{
		RateHz: rate, Frames: t.frames, Segments: int64(first.series.count), Skipped: t.skipped,
		SegmentS: float64(t.segment) / rate, MiddleS: float64(first.series.slots()) * float64(t.segment) / rate / 2,
	}
	best := 0.0
	for i, omega := range t.advances() {
		fit, err := t.tone[i].result(t.cfg.TonesHz[i], rate, omega)
		if err != nil {
			return nil, err
		}
		r.Tones = append(r.Tones, fit)
		if a := maxAbs(fit.Phasors); a > best {
			best = a
			r.ClockPPM = (fit.NominalHz/fit.FreqHz - 1) * 1e6
			r.ClockUPPM = fit.FreqUHz / fit.FreqHz * 1e6
		}
	}
	t.levels(r)
	return r, nil
}

// levels fills in what concerns the channels and not the tones. The noise is what
// a model of the offset and steady tones leaves of the power; tones that do not
// make whole cycles add to the mean and to each other's power, by known shares.
func (t *Tracker) levels(r *Track) {
	steps := make([]phase.Turns, len(r.Tones))
	for i, tone := range r.Tones {
		steps[i] = phase.TurnsOf(tone.FreqHz, t.cfg.RateHz)
	}
	for ch, s := range t.totals {
		n := int(s.n)
		z := make([]complex128, len(r.Tones))
		leak := 0.0
		for i, tone := range r.Tones {
			// from the middle of the series to the first frame
			z[i] = tone.Phasors[ch] * steps[i].Times(uint64(t.tone[i].series.slots()*t.segment/2)).Neg().Phasor()
			leak += real(z[i] * meanPhasor(steps[i], n))
		}
		offset := s.sum/s.n - leak
		power := offset*offset + 2*offset*leak
		for i, a := range z {
			for k, b := range z {
				power += real(a*b*meanPhasor(steps[i].Add(steps[k]), n)+a*cmplx.Conj(b)*meanPhasor(steps[i].Add(steps[k].Neg()), n)) / 2
			}
		}
		r.Offset = append(r.Offset, offset)
		r.Peak = append(r.Peak, s.peak)
		r.NoiseRMS = append(r.NoiseRMS, math.Sqrt(math.Max(0, s.energy/s.n-power)))
	}
}

func maxAbs(z []complex128) float64 {
	top := 0.0
	for _, v := range z {
		top = math.Max(top, cmplx.Abs(v))
	}
	return top
}
