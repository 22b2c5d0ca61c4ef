package trouble

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/num"
	"fmt"
	"math"
)

// ClipFigures is what one channel shows of clipping. The zero value: nothing.
type ClipFigures struct {
	// Clipped says that peaks are cut off: at full scale, at equal extreme values,
	// or flat below full scale.
	Clipped bool
	// AtFullScale counts the samples in runs of three or more at integer full
	// scale, AtExtreme those in runs of equal extreme values below it.
	AtFullScale, AtExtreme int
	// Samples counts all samples taken to be cut off, Fraction is their part of
	// the whole.
	Samples  int
	Fraction float64
	// Top and Bottom are the levels at which the peaks are cut, re full scale;
	// NaN where that side is sound.
	Top, Bottom float64
	// Depth is by how much of its amplitude the tone would rise above the flat
	// part; 0 where only runs show the clipping.
	Depth float64
	// T is the evidence of the flat part in standard deviations (see flatPart).
	T float64
	// First and End enclose all samples cut off, in frames of the slice.
	First, End int
	// SoundFirst and SoundEnd are the longest stretch without any.
	SoundFirst, SoundEnd int
}

// leastFlat is how far, relative to the range, samples may lie below a flat top to
// be counted as part of it.
const leastFlat = 2e-4

// fewSteps is how many steps of its grid a channel must span for equal extremes to say
// anything.
const fewSteps = 8

// FindClipping looks for clipping in the samples x of one channel. tone holds the
// fitted tones of the channel (fundamentals only, without offset), sample by
// sample; bits is the resolution of an integer record, 0 for floating point,
// which has no full scale.
//
// Three signs count. Runs of three and more samples at full scale of an integer
// record. Runs of equal extreme values longer than a sine rounded to the grid of
// the samples makes. And a flat part: samples averaged against what the tone asks
// for (see flatPart), which shows clipping below full scale also when noise or a
// filter came after it, at any frequency and with several tones. Smooth
// saturation, as from a part that is not linear, is no clipping.
//
// On clean noise less than 1 record in 1000 gives a false alarm. In 20000 samples
// peaks cut by 0.1 % of the amplitude are found with 60 dB of tone over noise, by
// 1 % with 40 dB. A tone that falls on few phases (a period of a few samples) shows
// less. Samples must be finite; x and tone of one length.
//
// clean holds the samples without hum, for the flat part: against the tone alone, hum
// bends the curve.
func FindClipping(x, clean, tone []float64, bits int) ClipFigures {
	c := ClipFigures{Top: math.NaN(), Bottom: math.NaN(), SoundEnd: len(x)}
	if len(x) != len(tone) || len(x) < 3 || constant(x) {
		return c
	}
	mark := make([]bool, len(x))
	lo, hi := num.MinMax(x)
	quantum := math.Max(SampleGrid(x), sampleStep(x))
	natural := naturalRun(x, tone, quantum)
	if hi-lo < fewSteps*CoarseGrid(x) {
		natural = len(x) // stairs of a quiet tone have long treads
	}
	c.mergeRuns(x, mark, lo, hi, farthest(tone), bits, natural)
	c.mergeFlat(clean, tone, mark)
	c.summarise(mark)
	return c
}

func farthest(x []float64) float64 {
	lo, hi := num.MinMax(x)
	return math.Max(hi, -lo)
}

// SampleGrid returns the spacing 2^−k of the coarsest binary grid on which all
// samples stand, whatever the format says; 0 for samples on none down to 2^−31.
func SampleGrid(x []float64) float64 {
	scale := 1.0
	for _, v := range x {
		for v*scale != math.Trunc(v*scale) {
			if scale *= 2; scale > 1<<31 {
				return 0
			}
		}
	}
	return 1 / scale
}

// sampleStep returns the smallest step between neighbouring samples that differ:
// an upper bound of the grid of samples scaled by what is not a power of two.
func sampleStep(x []float64) float64 {
	least := 0.0
	for i := 1; i < len(x); i++ {
		if d := math.Abs(x[i] - x[i-1]); d > 0 && (least == 0 || d < least) {
			least = d
		}
	}
	return least
}

// naturalRun is how many equal samples the tip of the tone may hold on a grid: the
// tip of a sine of amplitude A and angular step ω stays within a quantum q for
// 2√(2q/A)/ω samples. It is doubled for several tones and noise.
func naturalRun(x, tone []float64, quantum float64) int {
	var power, slope float64
	for i := 1; i < len(tone); i++ {
		d := tone[i] - tone[i-1]
		power += tone[i] * tone[i]
		slope += d * d
	}
	if slope == 0 || power == 0 {
		return len(x)
	}
	omega := math.Sqrt(slope / power)
	amp := math.Sqrt(2 * power / float64(len(tone)))
	return 3 + int(4*math.Sqrt(2*quantum/amp)/omega)
}

// mergeRuns marks runs at the extreme values.
func (c *ClipFigures) mergeRuns(x []float64, mark []bool, lo, hi, asked float64, bits, natural int) {
	full, shortest := math.Inf(1), 3
	if bits > 0 {
		full = 1 - 1.5*math.Exp2(float64(1-bits))
	}
	if asked > full*(1+5e-4) {
		shortest = 1 // the tone asks for more than there is: every such sample is cut
	}
	var at []run
	for i := 0; i < len(x); {
		j := i + 1
		for j < len(x) && x[j] == x[i] {
			j++
		}
		switch {
		case math.Abs(x[i]) >= full && j-i >= shortest:
			c.AtFullScale += j - i
			markRun(mark, i, j)
		case (x[i] == lo || x[i] == hi) && j-i >= natural:
			at = append(at, run{i, j})
		}
		i = j
	}
	if len(at) >= 2 { // once may be a loss; see findBreaks
		for _, r := range at {
			c.AtExtreme += r.end - r.first
			markRun(mark, r.first, r.end)
		}
	}
	if c.AtFullScale+c.AtExtreme > 0 {
		c.Clipped = true
		c.setLevels(x, mark, lo, hi)
	}
}

func markRun(mark []bool, first, end int) {
	for i := first; i < end; i++ {
		mark[i] = true
	}
}

func (c *ClipFigures) setLevels(x []float64, mark []bool, lo, hi float64) {
	for i, m := range mark {
		switch {
		case m && x[i] > (lo+hi)/2:
			c.Top = x[i]
		case m:
			c.Bottom = x[i]
		}
	}
}

// mergeFlat marks the samples of a flat part.
func (c *ClipFigures) mergeFlat(x, tone []float64, mark []bool) {
	f := findFlatPart(x, tone)
	c.T = f.T
	if !f.Flat {
		return
	}
	c.Clipped, c.Depth = true, f.Depth
	lo, hi := num.MinMax(x)
	hair := leastFlat * (hi - lo)
	for i, v := range x {
		switch {
		case tone[i] > f.Top && v > f.TopLevel-hair:
			mark[i], c.Top = true, f.TopLevel
		case tone[i] < f.Bottom && v < f.BottomLevel+hair:
			mark[i], c.Bottom = true, f.BottomLevel
		}
	}
}

// summarise counts the marked samples and finds the longest stretch without.
func (c *ClipFigures) summarise(mark []bool) {
	c.First, c.End = 0, 0
	sound := 0
	c.SoundFirst, c.SoundEnd = 0, 0
	for i, m := range append(mark, true) {
		if !m {
			continue
		}
		if i-sound > c.SoundEnd-c.SoundFirst {
			c.SoundFirst, c.SoundEnd = sound, i
		}
		sound = i + 1
		if i == len(mark) {
			break
		}
		if c.Samples == 0 {
			c.First = i
		}
		c.Samples++
		c.End = i + 1
	}
	c.Fraction = float64(c.Samples) / float64(len(mark))
}

// Finding words what a channel (counted from 0) shows. firstFrame is where the
// slice begins in the record; sound says that only a stretch without clipping was
// used.
func (c ClipFigures) Finding(ch, firstFrame int, rateHz float64, sound bool) finding.Finding {
	at := float64(firstFrame+c.First) / rateHz
	f := finding.Finding{Code: finding.Clipped, Severity: finding.Invalid, Channel: ch + 1, AtS: &at,
		Detail: c.detail(), Advice: "lower the output or the input level until the peaks have room, and record again"}
	if sound {
		f.Severity = finding.Warning
	}
	return f
}

func (c ClipFigures) detail() string {
	part := fmt.Sprintf("%.2g %% of the samples", 100*c.Fraction)
	switch {
	case c.AtFullScale > 0:
		return part + " stand at full scale"
	case c.Depth > 0:
		return fmt.Sprintf("peaks are flat at %s of full scale, cut by %.2g %% of the amplitude, %s", c.levels(), 100*c.Depth, part)
	}
	return fmt.Sprintf("peaks stop at %s of full scale, %s", c.levels(), part)
}

func (c ClipFigures) levels() string {
	switch {
	case math.IsNaN(c.Bottom):
		return fmt.Sprintf("%+.4f", c.Top)
	case math.IsNaN(c.Top):
		return fmt.Sprintf("%+.4f", c.Bottom)
	}
	return fmt.Sprintf("%+.4f and %+.4f", c.Top, c.Bottom)
}
