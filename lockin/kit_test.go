package lockin

import (
	"math"
	"math/rand/v2"
	"testing"
)

// stream configurations that between them use every filter and mixer.
func everyKind() map[string]Config {
	tones := []float64{1000, 1777.7}
	near := Lock{Channel: 1, NearHz: 1000, LoopHz: 50}
	narrow, wide := Filter{PassHz: 20, StopHz: 80}, Filter{PassHz: 1000, StopHz: 1400}
	return map[string]Config{
		"tones/poles":             {TonesHz: tones, Every: 480},
		"tones/poles odd":         {TonesHz: tones, Every: 601, Filter: Filter{TauS: 0.003, Poles: 3}},
		"tones/poles short":       {TonesHz: tones, Every: 20, Filter: Filter{TauS: 0.003, Poles: 1}},
		"tones/poles eight":       {TonesHz: tones, Every: 300, Filter: Filter{TauS: 0.003, Poles: 8}},
		"tones/poles two":         {TonesHz: tones, Every: 300, Filter: Filter{TauS: 0.003, Poles: 2}},
		"tones/poles dense":       {TonesHz: tones, Every: 1, Filter: Filter{TauS: 0.003}},
		"tones/poles dense three": {TonesHz: tones, Every: 7, Filter: Filter{TauS: 0.003, Poles: 3}},
		"tones/cycles and poles":  {TonesHz: tones, Every: 50, Filter: Filter{TauS: 0.003, Poles: 2, Cycles: 5}},
		"tones/cycles":            {TonesHz: tones, Filter: Filter{Cycles: 7}},
		"tones/narrow":            {TonesHz: tones, Filter: narrow},
		"tones/wide":              {TonesHz: tones, Filter: wide},
		"lock/poles":              {Lock: near, Every: 480, Filter: Filter{TauS: 0.01}},
		"lock/poles dense":        {Lock: near, Every: 3, Filter: Filter{TauS: 0.01}},
		"lock/wide":               {Lock: near, Filter: wide},
		"external/poles":          {External: true, Every: 300, Filter: Filter{TauS: 0.01, Poles: 6}},
		"external/poles dense":    {External: true, Every: 2, Filter: Filter{TauS: 0.01, Poles: 6}},
		"external/narrow":         {External: true, Filter: narrow},
	}
}

// run feeds whole channels in blocks whose lengths size gives.
func run[T Sample](t testing.TB, d *Demodulator[T], x [][]T, ref []complex128, size func() int, interleaved bool) *Result {
	t.Helper()
	r := new(Result)
	for at, n := 0, 0; at < len(x[0]); at += n {
		n = min(size(), len(x[0])-at)
		var in Frames[T]
		if interleaved {
			var flat []T
			for i := at; i < at+n; i++ {
				for _, c := range x {
					flat = append(flat, c[i])
				}
			}
			in = Interleaved(flat, len(x))
		} else {
			var part [][]T
			for _, c := range x {
				part = append(part, c[at:at+n])
			}
			in = Planar(part...)
		}
		if ref != nil {
			d.ProcessWith(r, in, ref[at:at+n])
		} else {
			d.Process(r, in)
		}
	}
	return r
}

func mustNew[T Sample](t testing.TB, cfg Config) *Demodulator[T] {
	t.Helper()
	d, err := New[T](cfg)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func fixed(n int) func() int { return func() int { return n } }

// testSignal is a tone of 1 kHz with harmonics in two channels, an offset and noise.
func testSignal(frames int, sigma float64) [][]float64 {
	rng := rand.New(rand.NewPCG(21, 22))
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range frames {
		p := 2 * math.Pi * 1000 * float64(i) / 48000
		x[0][i] = 0.3*math.Cos(p+0.7) + 0.02*math.Cos(2*p) + 0.01 + sigma*rng.NormFloat64()
		x[1][i] = 0.5*math.Cos(p-0.4) + 0.01*math.Cos(3*p) - 0.02 + sigma*rng.NormFloat64()
	}
	return x
}

func cast[T Sample](x [][]float64, scale float64) [][]T {
	out := make([][]T, len(x))
	for ch := range x {
		for _, v := range x[ch] {
			if _, float := any(T(0)).(float32); float || scale == 1 {
				out[ch] = append(out[ch], T(v*scale))
			} else {
				out[ch] = append(out[ch], T(math.Round(v*scale)))
			}
		}
	}
	return out
}

func ownReference(frames int) []complex128 {
	ref := make([]complex128, frames)
	for i := range ref {
		s, c := math.Sincos(2 * math.Pi * 1000 * float64(i) / 48000)
		ref[i] = complex(c, s)
	}
	return ref
}
