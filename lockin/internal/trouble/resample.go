package trouble

import (
	"fmt"
	"math"
	"sort"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/num"
	"gonum.org/v1/gonum/dsp/fourier"
)

// resampleFigures is what the noise of a record tells of a conversion of its rate.
type resampleFigures struct {
	Resampled bool
	// TopDB is the noise density between 0.46 and 0.49 of the rate against that in
	// the middle of the band, in decibels of power (see topLevel); NaN where the
	// noise says nothing.
	TopDB float64
	// FromHz is the rate before, where a periodicity gives it away; 0 otherwise.
	FromHz float64
	// P is the chance that noise alone shows a periodicity as clear.
	P float64
}

const (
	resampleAlpha = 1e-5    // for all rates together
	emptyTopDB    = -20.0   // a converter's own filter takes 6 dB at half the rate
	mostLines     = 16      // bins of the density that stand out; more spoil the comparison of bands
	roundingNoise = 0.45    // rms of a grid step: below this noise is mostly rounding
	squareFrames  = 1 << 14 // the longest stretch looked at for a period,
	segmentFrames = 1024
	mostSegments  = 32 // and the most segments for the density
)

// FindResampling looks for signs that the system converted the rate of a record
// before it was handed over. x holds the channels, noise the same frames without
// tones and mains lines.
//
// A conversion upward leaves the band near half the rate empty. Interpolation also
// makes the variance of the samples periodic, as some stand near a sample of the
// old rate and some between two: the squared sixth difference then has a line at
// the ratio of the rates, which is looked for at the rates in use. Lines that a
// multiple of a tone or of 1 kHz (bus clocks) may make are not counted, and with lines
// of other origin among the noise only the empty band is looked at, if that.
//
// White, pink and rounded noise gives a false alarm in less than 1 record of 10000.
// Linear and cubic interpolation are always found, and so is a conversion upward
// to a rate a twelfth higher or more by any filter, if the noise came before the
// conversion and stands above the rounding. Records without noise of their own say
// nothing.
func FindResampling(x, noise [][]float64, rateHz float64, tonesHz []float64) resampleFigures {
	r := resampleFigures{TopDB: math.NaN(), P: 1}
	var own [][]float64
	for ch := range noise {
		if len(noise[ch]) >= 4*segmentFrames && hasNoise(x[ch], noise[ch]) {
			own = append(own, noise[ch])
		}
	}
	if len(own) == 0 {
		return r
	}
	density := noiseDensity(own)
	lines := countLines(density)
	if lines > mostLines {
		return r // what is left is not noise
	}
	r.TopDB = topLevel(density)
	if lines == 0 {
		r.findPeriod(own, rateHz, tonesHz)
	}
	r.Resampled = r.TopDB < emptyTopDB || r.P < resampleAlpha
	return r
}

// hasNoise says that a channel's noise is its own and not the rounding of samples.
func hasNoise(x, noise []float64) bool {
	rms := math.Sqrt(num.MeanSquare(noise))
	if grid := SampleGrid(x); grid > 0 {
		return rms > roundingNoise*grid
	}
	return rms > 1e-6*farthest(x)
}

// noiseDensity returns the density of the noise of all channels together, from 0 to
// half the rate, in bins of rate/segmentFrames.
func noiseDensity(noise [][]float64) []float64 {
	density := make([]float64, segmentFrames/2+1)
	fft, buf, window := fourier.NewFFT(segmentFrames), make([]float64, segmentFrames), make([]float64, segmentFrames)
	for i := range window {
		window[i] = 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/segmentFrames)
	}
	var c []complex128
	for _, x := range noise {
		step := max(segmentFrames, len(x)/mostSegments)
		for at := 0; at+segmentFrames <= len(x); at += step {
			for i, w := range window {
				buf[i] = x[at+i] * w
			}
			c = fft.Coefficients(c, buf)
			for k, v := range c {
				density[k] += num.SqAbs(v)
			}
		}
	}
	return density
}

// topLevel returns the median density below half the rate against that of the band
// in the middle, in decibels; lines in either do not move it. A rate that was
// doubled leaves the middle empty, too: it shows against the lower band, which must
// stand 10 dB higher, as noise of parts and inputs may fall with frequency.
func topLevel(density []float64) float64 {
	level := func(lo, hi float64) float64 {
		return 10 * math.Log10(num.Quantile(band(density, lo, hi), 0.5))
	}
	top := level(0.46, 0.49)
	return math.Min(top-level(0.25, 0.40), top-level(0.1, 0.2)+10)
}

// countLines returns how many bins of the upper band stand out of their neighbours:
// harmonics and whistles that the residual still holds.
func countLines(density []float64) int {
	const reach, stands = 8, 3. // an average of 64 segments scatters by an eighth
	lines := 0
	for k := segmentFrames / 10; k+reach < len(density); k++ {
		if density[k] > stands*num.Quantile(density[k-reach:k+reach+1], 0.5) {
			lines++
		}
	}
	return lines
}

// band returns the bins from lo to hi, parts of the rate.
func band(density []float64, lo, hi float64) []float64 {
	return density[int(lo*segmentFrames):int(hi*segmentFrames)]
}

// commonRates are the rates that cards and systems run at, in hertz.
var commonRates = [...]float64{8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000, 176400, 192000}

// findPeriod looks for lines in the spectrum of the squared sixth difference.
func (r *resampleFigures) findPeriod(noise [][]float64, rateHz float64, tonesHz []float64) {
	power := squareSpectrum(noise)
	n := 2 * (len(power) - 1)
	tests := 0.0
	best, from := 1.0, 0.0
	for h := 1.0; h <= 2; h++ {
		for _, old := range commonRates {
			line := FoldedLine(h*old, rateHz)
			// Old and new clock may be apart by 200 ppm.
			reach := 2 + int(200e-6*h*old/rateHz*float64(n))
			at := int(math.Round(line / rateHz * float64(n)))
			if at-reach < 48 || at+reach > n/2-48 || Explained(line, rateHz, float64(reach+3)*rateHz/float64(n), tonesHz) {
				continue
			}
			tests += float64(2*reach + 1)
			if p := linePower(power, at, reach); p < best {
				best, from = p, old
			}
		}
	}
	if from == 0 {
		return // every place where a line could stand is taken
	}
	if r.P = math.Min(1, best*tests); r.P < resampleAlpha {
		r.FromHz = from
	}
}

// FoldedLine folds a frequency into [0, rate/2].
func FoldedLine(hz, rateHz float64) float64 {
	return math.Abs(math.Remainder(hz, rateHz))
}

// Explained says that a multiple of a tone or of 1 kHz, folded at half the rate,
// falls on the line.
func Explained(line, rateHz, widthHz float64, tonesHz []float64) bool {
	multiples := 40
	if len(tonesHz) > 2 {
		multiples = 8
	}
	if math.Abs(math.Remainder(line, 1000)) < widthHz {
		return true
	}
	for _, f := range tonesHz {
		for k := 1; k <= multiples; k++ {
			if math.Abs(FoldedLine(float64(k)*f, rateHz)-line) < widthHz {
				return true
			}
		}
	}
	return false
}

// squareSpectrum returns the power spectrum of the squared sixth difference, summed
// over the channels, each of unit mean.
func squareSpectrum(noise [][]float64) []float64 {
	n := segmentFrames
	for n*2 <= min(squareFrames, len(noise[0])-6) {
		n *= 2
	}
	e := make([]float64, n)
	for _, x := range noise {
		d := fourthDifference(x[:n+6])
		mean := 0.0
		sq := make([]float64, n)
		for i := range sq {
			v := d[i] - 2*d[i+1] + d[i+2]
			sq[i] = v * v
			mean += sq[i] / float64(n)
		}
		for i := range e {
			e[i] += sq[i]/mean - 1
		}
	}
	c := fourier.NewFFT(n).Coefficients(nil, e)
	power := make([]float64, len(c))
	for k, v := range c {
		power[k] = num.SqAbs(v)
	}
	return power
}

// linePower returns the chance that noise alone makes the largest of the bins
// around at: its power against the mean of 64 bins beside it has an F(2, 128)
// distribution. The mean leaves out the four largest bins, where other lines may
// stand, and is raised by what that takes from exponential variates.
func linePower(power []float64, at, reach int) float64 {
	top := 0.0
	for k := at - reach; k <= at+reach; k++ {
		top = math.Max(top, power[k])
	}
	var side []float64
	for d := reach + 2; len(side) < 64 && (at-d > 0 || at+d < len(power)-1); d++ {
		if at-d > 0 {
			side = append(side, power[at-d])
		}
		if at+d < len(power)-1 {
			side = append(side, power[at+d])
		}
	}
	sort.Float64s(side)
	const left = 0.823 // mean of the lowest 60 of 64 exponential variates
	mean := num.Average(side[:len(side)*60/64]) / left
	m := float64(len(side))
	return math.Pow(1+top/mean/m, -m)
}

const ResampledAdvice = "run the card at its own rate and open it directly, not through a mixer; the converter's filter and clock come on top of the card's"

// Finding words the conversion; ok is false where none shows.
func (r resampleFigures) Finding() (f finding.Finding, ok bool) {
	f = finding.Finding{Code: finding.Resampled, Severity: finding.Warning, Advice: ResampledAdvice}
	switch {
	case !r.Resampled:
		return f, false
	case r.FromHz > 0:
		f.Detail = fmt.Sprintf("the system converted the rate from %g Hz: the noise repeats at the ratio of the rates (chance %.1g)", r.FromHz, r.P)
	default:
		f.Detail = fmt.Sprintf("the system converted the rate: the noise ends below half the rate, %.0f dB down there", -r.TopDB)
	}
	return f, true
}
