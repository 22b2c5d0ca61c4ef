package filter

import (
	"math"
	"math/cmplx"
)

// FIR is a linear-phase low-pass in two stages: the first gives one value every First
// frames, free of what would fold into the passband and the transition; the second,
// on those values, is as sharp as asked for.
type FIR struct {
	First  int       // frames from one value of the first stage to the next
	Second int       // values of the first stage from one output to the next
	H1, H2 []float64 // taps of the stages, newest first; symmetric, sum 1

	pass, stop float64 // turns per frame
}

// MostTaps bounds either stage.
const MostTaps = 1 << 20

// NewFIR designs one for passband and stopband edges in turns per frame, with one
// output every so many frames. ok is false where a stage would need more than
// [MostTaps] taps.
func NewFIR(pass, stop, stopDB float64, every int) (f FIR, ok bool) {
	first := cheapest(pass, stop, stopDB, every)
	// The lengths are estimates: where what folds back comes out above what was asked
	// for, both stages are made better by a decibel at a time.
	for extra := 0.0; extra < 12; extra++ {
		f = FIR{First: first, Second: every / first, pass: pass, stop: stop}
		edge := firstStop(stop, first)
		if first == 1 {
			f.H1 = []float64{1}
		} else if kaiserLength(pass, edge, stopDB+1+extra) <= MostTaps {
			f.H1 = kaiser(pass, edge, stopDB+1+extra)
		}
		if f.Second == 1 && first > 1 {
			f.H2 = []float64{1}
		} else if d := float64(first); kaiserLength(pass*d, stop*d, stopDB+extra) <= MostTaps {
			f.H2 = kaiser(pass*d, stop*d, stopDB+extra)
		}
		if f.H1 == nil || f.H2 == nil {
			return f, false
		}
		if f.AliasDB() <= -stopDB {
			break
		}
	}
	return f, true
}

// firstStop is where the stopband of the first stage begins: what lies beyond would
// fold to frequencies below stop. Without a first stage, and in one that does all,
// it is stop itself.
func firstStop(stop float64, first int) float64 { return math.Max(stop, 1/float64(first)-stop) }

// cheapest returns the divisor of every with which a frame costs least.
func cheapest(pass, stop, stopDB float64, every int) int {
	best, least := 1, math.Inf(1)
	try := func(first int) {
		if first > 1 && first < every && 1/float64(first) < 2*stop {
			return
		}
		if c := firCost(pass, stop, stopDB, every, first); c < least {
			best, least = first, c
		}
	}
	for first := 1; first*first <= every; first++ {
		if every%first == 0 {
			try(first)
			try(every / first)
		}
	}
	return best
}

// firCost is the number of products a frame costs: two for each tap, and what it takes
// to begin a sum.
func firCost(pass, stop, stopDB float64, every, first int) float64 {
	const begin = 24
	d := float64(first)
	cost := 2*float64(kaiserLength(pass*d, stop*d, stopDB))/float64(every) + begin/d
	switch first {
	case 1:
		return cost + 2
	case every:
		return 2*float64(kaiserLength(pass, stop, stopDB+1))/d + begin/d
	}
	return cost + 2*float64(kaiserLength(pass, firstStop(stop, first), stopDB+1))/d
}

// FIREvery returns the output interval for edges in turns per frame: the longest at
// which nothing folds from the stopband onto the passband, or one a little shorter
// that divides better.
func FIREvery(pass, stop, stopDB float64) int {
	most := int(math.Max(1, math.Min(math.Floor(1/(pass+stop)*(1+1e-12)), 1<<30)))
	cost := func(every int) float64 {
		return firCost(pass, stop, stopDB, every, cheapest(pass, stop, stopDB, every))
	}
	best, least := most, cost(most)/1.25
	for every := most - 1; every > most-1-min(most/50, 64); every-- {
		if c := cost(every); c < least {
			best, least = every, c
		}
	}
	return best
}

// At returns the response at a frequency in turns per frame, the newest sample at
// age 0.
func (f FIR) At(turns float64) complex128 {
	return symmetricAt(f.H1, turns) * symmetricAt(f.H2, turns*float64(f.First))
}

// symmetricAt returns Σ h[k]·exp(−j2π·turns·k) of symmetric taps: a real sum, delayed.
func symmetricAt(h []float64, turns float64) complex128 {
	turns -= math.Round(turns)
	middle := float64(len(h)-1) / 2
	sum := 0.0
	for k, v := range h {
		sum += v * math.Cos(2*math.Pi*turns*(float64(k)-middle))
	}
	return complex(sum, 0) * cmplx.Rect(1, -2*math.Pi*turns*middle)
}

// Delay returns the delay in frames, the same at every frequency.
func (f FIR) Delay() float64 {
	return float64(len(f.H1)-1)/2 + float64(f.First)*float64(len(f.H2)-1)/2
}

// Length returns how many frames an output depends on.
func (f FIR) Length() int { return len(f.H1) + f.First*(len(f.H2)-1) }

// impulse returns both stages in one.
func (f FIR) impulse() []float64 {
	h := make([]float64, f.Length())
	for j, b := range f.H2 {
		to := h[j*f.First:]
		for i, a := range f.H1 {
			to[i] += a * b
		}
	}
	return h
}

// ENBW returns the one-sided equivalent noise bandwidth in units of the rate, ½·Σh².
func (f FIR) ENBW() float64 {
	sum := 0.0
	for _, v := range f.impulse() {
		sum += v * v
	}
	return sum / 2
}

// Settling returns the frames after a step until no more than a share eps of it is
// left, at any phase of the output interval.
func (f FIR) Settling(eps float64) float64 {
	h := f.impulse()
	rest := 0.0
	for k := len(h) - 1; k >= 0; k-- {
		if rest += h[k]; math.Abs(rest) > eps {
			return float64(k + f.First)
		}
	}
	return float64(f.First)
}

// AliasDB returns the largest response that folds onto the passband.
func (f FIR) AliasDB() float64 {
	every := f.First * f.Second
	if every == 1 {
		return math.Inf(-1)
	}
	if 2*f.pass*float64(every) >= 1 {
		return 0 // the passband folds onto itself
	}
	// Offsets from the middle of what folds, two dozen to a lobe of the second stage. That
	// repeats every Second zones, and in a mirror, so that it need not be computed anew.
	offsets := 9 + 24*int(2*f.pass*float64(f.First*len(f.H2)))
	second := make([][]float64, f.Second/2+1)
	for zone := range second {
		second[zone] = make([]float64, offsets)
		for i := range offsets {
			second[zone][i] = cmplx.Abs(symmetricAt(f.H2, f.offset(zone, i, offsets)*float64(f.First)))
		}
	}
	// The lobes of either stage fall with the offset, those of the second up to where it
	// repeats: what lies far out need not be looked at. Zones closer than lobes likewise.
	const repeats = 8
	worst := 0.0
	last := min(every/2, repeats*f.Second)
	if f.Second == 1 {
		last = every / 2
	}
	for zone := 1; zone <= last; zone += max(1, every/(16*f.Length())) {
		for i := range offsets {
			z, j := zone%f.Second, i
			if z > f.Second/2 {
				z, j = f.Second-z, offsets-1-i
			}
			if b := second[z][j]; b > worst {
				a := cmplx.Abs(symmetricAt(f.H1, f.offset(zone, i, offsets)))
				worst = math.Max(worst, a*b)
			}
		}
	}
	return 20 * math.Log10(worst)
}

// offset is a frequency that folds onto the passband, in turns per frame.
func (f FIR) offset(zone, i, of int) float64 {
	return float64(zone)/float64(f.First*f.Second) + f.pass*(2*float64(i)/float64(of-1)-1)
}

// Cutoff returns where the response is 3.01 dB down, in turns per frame.
func (f FIR) Cutoff() float64 {
	low, high := f.pass, f.stop
	for range 60 {
		if middle := (low + high) / 2; cmplx.Abs(f.At(middle)) > math.Sqrt2/2 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
