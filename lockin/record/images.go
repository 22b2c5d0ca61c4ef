package record

import (
	"cmp"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/trouble"
	"example.org/wheatear/lockin/spectrum"
	"fmt"
	"math"
	"slices"
)

// imageFigures is what the lines of a record tell of a conversion of its rate.
type imageFigures struct {
	FromHz  float64    // the other rate; 0 where no images show
	ToneHz  float64    // the tone of which these are images
	LinesHz [2]float64 // where they stand in the record
	LevelDB float64    // the stronger of them against the tone, in the channel sum
}

const (
	imageAlpha   = 1e-6   // of white noise alone, for all places together
	imageOver    = 10.0   // power of an image against that of any other line beside it
	imageBeside  = 300.0  // hertz, how far on each side that is
	imageShift   = 150e-6 // how far apart the clocks of the two rates may be
	imageOrders  = 3      // multiples of the other rate that are looked at
	imageTones   = 4      // of the tones, those with the most slope
	imageWeakest = 1e-7   // of the tone; conversion as good as that does no harm
)

// imageSeeker looks for images in the spectrum of what tones and hum leave.
type imageSeeker struct {
	spec    bins
	rateHz  float64
	tones   []located
	takenHz []float64 // lines that were fitted: near them the spectrum is empty
	least   float64   // a quarter of what rounding leaves: no two of its lines have as much
}

// findImages looks for images of the tones: a converter from another rate that does
// not reject them fully leaves, of a tone at f, lines at k·rate ± f, folded into the
// band, and nothing at k·rate, k·rate ± 2f or ± 3f. Both lines of a pair must stand
// above the noise and above whatever is within 300 Hz, which combs of mains lines,
// rounding and overtones of high order do not; with three tones or more, whose
// products may fall anywhere, two tones have to show a pair.
//
// Noise alone gives a false alarm in less than 1 record of 10⁵, whatever its colour.
// Images are found where they are 20 dB above the noise of a bin of rate/frames.
// Rates that are multiples of each other have no images of their own; and a pair on
// overtones of the tone or on multiples of 1 kHz, where the bus whistles, is not
// counted. That a tone is amplitude modulated with exactly the difference of two
// rates in use is taken for a conversion.
func (s imageSeeker) findImages() (r imageFigures) {
	best := 0.0
	needed := 1
	if len(s.tones) >= 3 {
		needed = 2
	}
	over := s.limit()
	for _, old := range imageRates {
		if old == s.rateHz {
			continue
		}
		pairs, strongest := 0, imageFigures{}
		power := 0.0
		for _, t := range s.telling() {
			f, p := s.pairOf(t, old, over)
			if p > 0 {
				pairs++
			}
			if p > power {
				strongest, power = f, p
			}
		}
		// The margin lets a rate stand before its multiples, which have the same lines.
		if pairs >= needed && power > 1.01*best {
			r, best = strongest, power
		}
	}
	return r
}

// imageRates are the common rates, those that systems convert from first.
var imageRates = [...]float64{44100, 48000, 96000, 88200, 192000, 176400, 32000, 24000, 22050, 16000, 12000, 11025, 8000}

// telling returns the tones of which images are strongest: an interpolator errs with
// the slope.
func (s imageSeeker) telling() []located {
	list := slices.Clone(s.tones)
	slope := func(t located) float64 { return t.power * t.foundHz * t.foundHz }
	slices.SortFunc(list, func(a, b located) int { return cmp.Compare(slope(b), slope(a)) })
	return list[:min(imageTones, len(list))]
}

// limit returns how far both lines of a pair must exceed the mean noise so that one
// pair among all that are looked at does so with the chance imageAlpha: a bin is
// exponential, the largest of three is looked at, and the median of some eighty bins
// may be a fifth too low.
func (s imageSeeker) limit() float64 {
	tests := 0.0
	for range s.telling() {
		for _, old := range imageRates {
			tests += imageOrders * float64(2*s.shifts(old)+1)
		}
	}
	return 1.25 * math.Log(3*math.Sqrt(math.Max(1, tests)/imageAlpha))
}

// shifts is how many bins the multiples of the other rate may be off either way.
func (s imageSeeker) shifts(old float64) int {
	return int(math.Ceil(imageShift * old / s.spec.stepHz))
}

// pairOf returns the strongest pair of images of a tone and its power, 0 for none.
func (s imageSeeker) pairOf(t located, old, over float64) (r imageFigures, power float64) {
	n := s.shifts(old)
	for k := 1.0; k <= imageOrders; k++ {
		if at := trouble.FoldedLine(k*old, s.rateHz); at < imageBeside || s.rateHz/2-at < imageBeside {
			continue // its images fall on the tone, or on each other
		}
		for i := range 2*n + 1 {
			d := (i + 1) / 2 * (1 - 2*(i%2)) // 0, -1, 1, -2, 2 …
			centre := k*old + float64(d)*s.spec.stepHz
			lines := [2]float64{trouble.FoldedLine(centre-t.foundHz, s.rateHz), trouble.FoldedLine(centre+t.foundHz, s.rateHz)}
			p, ok := s.pair(t, centre, lines, over)
			if !ok || p <= power {
				continue
			}
			power = p
			r = imageFigures{FromHz: old, ToneHz: t.foundHz, LinesHz: lines,
				LevelDB: spectrum.PowerDB(math.Max(s.peak(lines[0]), s.peak(lines[1])) / t.power)}
		}
	}
	return r, power
}

// pair says whether both lines stand out, and how strong they are together.
func (s imageSeeker) pair(t located, centre float64, lines [2]float64, over float64) (power float64, ok bool) {
	least := math.Max(s.least, num.Sq(imageWeakest)*t.power)
	weaker := math.Inf(1)
	for _, hz := range lines {
		if !s.inside(hz) {
			return 0, false
		}
		weaker = math.Min(weaker, s.peak(hz))
		power += s.peak(hz)
	}
	if !(weaker > least) {
		return 0, false
	}
	for _, hz := range lines { // dearer, so last
		noise := over * s.spec.floor(hz-40*s.spec.stepHz, hz+40*s.spec.stepHz)
		if weaker < noise || s.usual(hz) || weaker < imageOver*(s.beside(hz, lines)-noise/2) {
			return 0, false
		}
	}
	for _, m := range []float64{-3, -2, 0, 2, 3} {
		if hz := trouble.FoldedLine(centre+m*t.foundHz, s.rateHz); s.inside(hz) && weaker < imageOver*s.peak(hz) {
			return 0, false
		}
	}
	return power, math.Abs(lines[0]-lines[1]) > 4*s.spec.stepHz
}

// inside says that a line lies where the spectrum can be read.
func (s imageSeeker) inside(hz float64) bool {
	return hz > 6*s.spec.stepHz && hz < s.rateHz/2-6*s.spec.stepHz && !near(hz, s.takenHz, 4*s.spec.stepHz)
}

// usual says that a line may have another origin.
func (s imageSeeker) usual(hz float64) bool {
	var list []float64
	for _, t := range s.tones {
		list = append(list, t.foundHz)
	}
	return trouble.Explained(hz, s.rateHz, 3*s.spec.stepHz, list)
}

// peak returns the power of the strongest of the three bins at hz.
func (s imageSeeker) peak(hz float64) float64 {
	k := int(math.Round(hz / s.spec.stepHz))
	if k < 1 || k+1 >= s.spec.len() {
		return 0
	}
	return max(s.spec.power(k-1), s.spec.power(k), s.spec.power(k+1))
}

// beside returns the power of the strongest bin within reach of a line, but for the
// line itself, its partner, and what was fitted.
func (s imageSeeker) beside(hz float64, lines [2]float64) float64 {
	top := 0.0
	at, reach := int(math.Round(hz/s.spec.stepHz)), int(imageBeside/s.spec.stepHz)
	for k := max(1, at-reach); k <= min(s.spec.len()-2, at+reach); k++ {
		here := float64(k) * s.spec.stepHz
		if near(here, lines[:], 4*s.spec.stepHz) || s.spec.power(k) <= top || near(here, s.takenHz, 4*s.spec.stepHz) {
			continue
		}
		top = s.spec.power(k)
	}
	return top
}

// images looks for images in what tones and hum leave of the stretch. Lines that were
// found beside the tones may be just these.
func (an *analyzer) images() imageFigures {
	kept := func(l joint.Line) bool { return !l.Mains && an.tones[l.Tone].origin == beside }
	s := imageSeeker{rateHz: an.sig.RateHz, spec: an.spectrumWith(kept).tapered()}
	for _, x := range an.used().Channels {
		s.least += num.Sq(trouble.SampleGrid(x)) / 24
	}
	for l, ln := range an.joint.Model.Lines {
		if kept(ln) {
			continue
		}
		hz := an.joint.Model.FreqHz(ln)
		s.takenHz = append(s.takenHz, hz)
		if an.fundamental(ln) {
			power := 0.0
			for ch := range an.joint.Amp {
				power += num.SqAbs(an.joint.Amp[ch][l])
			}
			s.tones = append(s.tones, located{nominalHz: ln.Base, foundHz: hz, power: power})
		}
	}
	return s.findImages()
}

// spectrumWith is the spectrum of the residual and of some of the lines.
func (an *analyzer) spectrumWith(kept func(joint.Line) bool) bins {
	if !slices.ContainsFunc(an.joint.Model.Lines, kept) {
		return an.bins
	}
	x := make([][]float64, len(an.joint.Amp))
	for ch := range x {
		x[ch] = an.linesAlone(ch, kept)
		for i, r := range an.joint.Residual[ch] {
			x[ch][i] += r
		}
	}
	return newBins(x, an.sig.RateHz, an.transforms)
}

// finding words the conversion; ok is false where none shows.
func (r imageFigures) finding() (f finding.Finding, ok bool) {
	if r.FromHz == 0 {
		return f, false
	}
	return finding.Finding{Code: finding.Resampled, Severity: finding.Warning,
		Detail: fmt.Sprintf("the system converts between this rate and %g Hz: images of the tone of %g Hz at %.0f and %.0f Hz, %.0f dB below it",
			r.FromHz, math.Round(r.ToneHz*1000)/1000, slices.Min(r.LinesHz[:]), slices.Max(r.LinesHz[:]), -r.LevelDB),
		Advice: trouble.ResampledAdvice}, true
}
